/**
 * Amounts and times as this screen says them: in the units and on the clock that were chosen here, else the site's own.
 *
 * In: SI values, ms on the run's clock, the layout of now. Out: words.
 */
import type { Layout, UnitSystem } from '../../config/layout/layout.ts';
import { show, type Shown } from '../../config/units.ts';
import { clockWords } from '../words/time.ts';
import { choices } from './choices.svelte.ts';

export class Spoken {
  readonly #layout: () => Layout | null;
  units = $derived.by<UnitSystem>(() => choices.units ?? this.#layout()?.units ?? 'metric');
  zone = $derived.by(() => (choices.utc ? 'UTC' : (this.#layout()?.timeZone ?? 'UTC')));

  constructor(layout: () => Layout | null) {
    this.#layout = layout;
  }

  time(atMs: number): string {
    return clockWords(atMs, this.zone);
  }

  amount(value: number | null, what: Shown): { readonly text: string; readonly unit: string } {
    return show(value, what, this.units);
  }

  words(value: number | null, what: Shown): string {
    const { text, unit } = this.amount(value, what);
    return value === null ? 'not known' : `${text} ${unit}`;
  }
}
