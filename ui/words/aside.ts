/** What is said of alarms that are set aside: how many and why, one line for the list they are missing from. */
import type { Mode } from '../../config/modes.ts';
import type { AsideAlarm } from '../../config/wire/wire.ts';
import { MODE_WORDS } from './kit.ts';

export function asideCount(aside: readonly AsideAlarm[]): string {
  const shelved = aside.filter(({ state }) => state === 'shelved').length;
  const held = aside.filter(({ state }) => state === 'suppressed');
  const by = held[0] ? `${held.length} held back while '${modeName(held[0].aside.why)}' lasts` : '';
  return [shelved > 0 ? `${shelved} on the shelf` : '', by].filter((part) => part !== '').join(', ');
}

export function modeName(mode: string): string {
  return MODE_WORDS[mode as Mode] ?? mode;
}
