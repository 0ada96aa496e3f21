/** How much a hole or a torn end passes: m in, m3/s per sqrt(Pa) out. */

/** sqrt(2 / rho), water at 1000 kg/m3: discharge velocity per sqrt(Pa). */
const JET = Math.sqrt(2 / 1_000);
/** Judgement: a hole or a torn end passes about this share of the ideal jet. */
const OPEN_DISCHARGE = 0.7;

/** K of a hose's whole bore open to the air, m3/s per sqrt(Pa). */
export function openEndK(boreM: number): number {
  return OPEN_DISCHARGE * (Math.PI / 4) * boreM ** 2 * JET;
}
