/**
 * Physical constants of water used by the hydraulics, each with its unit and source; units are in config/units.ts.
 *
 * Pressures inside are gauge Pa, flows m3/s, lengths m. Water is incompressible and of one density: at 40 degC the
 * true density is 0.8 % lower, which is inside any field transmitter's error.
 */
import { GRAVITY_MPS2 } from '../../../config/units.ts';

/** kg/m3. The water-column convention: 1 m of water is 9.80665 kPa exactly. */
export const WATER_DENSITY_KGM3 = 1000;

/** Pa per metre of water. */
export const PA_PER_M = WATER_DENSITY_KGM3 * GRAVITY_MPS2;

/** m2/s, water at 20 degC: viscosity 1.0016 mPa s (IAPWS R12-08) over 998.2 kg/m3. */
export const WATER_VISCOSITY_M2S = 1.0034e-6;
