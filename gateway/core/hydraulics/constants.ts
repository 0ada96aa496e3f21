/**
 * Physical constants and unit definitions used by the hydraulics, each with its unit and source.
 *
 * Pressures inside are gauge Pa, flows m3/s, lengths m. Water is incompressible and of one density: at 40 degC the
 * true density is 0.8 % lower, which is inside any field transmitter's error.
 */

/** kg/m3. The water-column convention: 1 m of water is 9.80665 kPa exactly. */
export const WATER_DENSITY_KGM3 = 1000;

/** m/s2. Standard acceleration of free fall, exact by definition (3rd CGPM, 1901). */
export const GRAVITY_MPS2 = 9.80665;

/** Pa per metre of water. */
export const PA_PER_M = WATER_DENSITY_KGM3 * GRAVITY_MPS2;

/** m2/s, water at 20 degC: viscosity 1.0016 mPa s (IAPWS R12-08) over 998.2 kg/m3. */
export const WATER_VISCOSITY_M2S = 1.0034e-6;

/** m, exact (international foot and inch, 1959). */
export const M_PER_FT = 0.3048;
export const M_PER_INCH = 0.0254;

/** Pa per psi: 0.45359237 kg x 9.80665 m/s2 over one square inch, exact (NIST SP 811, App. B.8). */
export const PA_PER_PSI = (0.45359237 * GRAVITY_MPS2) / M_PER_INCH ** 2;

/** m3/s per US gal/min: 231 cubic inches a minute, exact (NIST SP 811, App. B.8). */
export const M3S_PER_USGPM = (231 * M_PER_INCH ** 3) / 60;
