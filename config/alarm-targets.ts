/**
 * What alarms may ask of people: ISA-18.2 / IEC 62682, as two public summaries repeat their table of performance
 * figures (the standards themselves were not read). About 6 annunciated an hour are acceptable, 12 the most that can be
 * managed, 10 in ten minutes a flood; none chatters; fewer than 5 stand for a day; priorities near 80 / 15 / 5 per cent
 * from low to high.
 */
export const ACCEPTABLE_AN_HOUR = 6;
export const MOST_AN_HOUR = 12;
export const MOST_IN_TEN_MINUTES = 10;
export const MOST_STALE = 4;
export const STALE_MS = 86_400_000;
/** So many times within so long: chattering. */
export const CHATTER_COUNT = 3;
export const CHATTER_MS = 60_000;
/** Hazards to people count as high. */
export const PRIORITY_SHARES = { low: 0.8, medium: 0.15, high: 0.05 } as const;
