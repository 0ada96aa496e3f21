/**
 * Published values come in feet, inches, psi and US gallons; these are their SI values, exact (NIST SP 811, App. B.8).
 */
export const FT = 0.3048;
export const INCH = 0.0254;
export const PSI = 6894.757293168361;
export const USGPM = 3.785411784e-3 / 60;
export const CUBIC_FT = FT ** 3;
export const LITRE_A_MINUTE = 1e-3 / 60;

/** Relative difference of `found` from `printed`. */
export const off = (found: number, printed: number): number => Math.abs(found / printed - 1);
