/**
 * What people can say is going on. Which causes it holds back stands in the row of each cause (config/causes): what the
 * work itself brings about, nothing else.
 */
export const MODES = [
  /** Lines fill one after the other, and the throttle is raised in steps. */
  'filling',
  'refuelling',
  'cycling',
  'draining',
] as const;
export type Mode = (typeof MODES)[number];
