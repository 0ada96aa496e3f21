/**
 * The screens by their names in the address, in the order in which they stand. `first`: at hand on a phone, not behind
 * 'More'.
 */
export const SCREENS = [
  { name: 'site', word: 'Site', first: true },
  { name: 'structures', word: 'Structures', first: true },
  { name: 'pump', word: 'Pump', first: true },
  { name: 'trend', word: 'Trend', first: true },
  { name: 'walk-round', word: 'Walk-round', first: true },
  { name: 'alarms', word: 'Alarms', first: true },
  { name: 'lines', word: 'Lines', first: false },
  { name: 'handover', word: 'Handover', first: false },
  { name: 'what-if', word: 'What if', first: false },
  { name: 'pre-flight', word: 'Pre-flight', first: false },
  { name: 'devices', word: 'Devices', first: false },
  { name: 'review', word: 'Review', first: false },
  { name: 'cautions', word: 'Cautions', first: true },
] as const;

export type ScreenName = (typeof SCREENS)[number]['name'];
