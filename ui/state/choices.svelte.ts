/**
 * What this browser's user chose: theme, units, clock, initials, and the screen shown. Remembered where storage allows
 * it.
 *
 * Limit: units and initials belong to the browser, not to a person: whoever takes the tablet over types their own.
 */
import { UNIT_SYSTEMS, type UnitSystem } from '../../config/layout/layout.ts';
import { SCREENS, type ScreenName } from '../words/screens.ts';

export const THEMES = ['sun', 'shade', 'night'] as const;
type Theme = (typeof THEMES)[number];

function recall(key: string): string | null {
  try {
    return localStorage.getItem(`wetdown.${key}`);
  } catch {
    return null;
  }
}

function remember(key: string, value: string): void {
  try {
    localStorage.setItem(`wetdown.${key}`, value);
  } catch {
    // Storage is refused in some kiosk profiles; the choice then lasts as long as the page.
  }
}

function oneOf<T extends string>(value: string | null, known: readonly T[]): T | null {
  return known.find((candidate) => candidate === value) ?? null;
}

class Choices {
  #theme = $state<Theme>(oneOf(recall('theme'), THEMES) ?? 'sun');
  #units = $state<UnitSystem | null>(oneOf(recall('units'), UNIT_SYSTEMS));
  #initials = $state(recall('initials') ?? '');
  utc = $state(false);
  screen = $state<ScreenName>(screenInAddress());

  constructor() {
    document.documentElement.dataset['theme'] = this.#theme;
    window.addEventListener('hashchange', () => (this.screen = screenInAddress()));
  }

  get theme(): Theme {
    return this.#theme;
  }

  set theme(theme: Theme) {
    this.#theme = theme;
    document.documentElement.dataset['theme'] = theme;
    remember('theme', theme);
  }

  /** null: as the layout says. */
  get units(): UnitSystem | null {
    return this.#units;
  }

  set units(units: UnitSystem | null) {
    this.#units = units;
    remember('units', units ?? '');
  }

  get initials(): string {
    return this.#initials;
  }

  set initials(initials: string) {
    this.#initials = initials;
    remember('initials', initials);
  }

  /** Somebody signed out while the gateway was not reached: it is still to be told. */
  get owesSignOut(): boolean {
    return recall('owes-sign-out') === 'yes';
  }

  set owesSignOut(owes: boolean) {
    remember('owes-sign-out', owes ? 'yes' : '');
  }

  show(screen: ScreenName): void {
    location.hash = screen;
    window.scrollTo(0, 0);
  }
}

function screenInAddress(): ScreenName {
  return SCREENS.find(({ name }) => name === location.hash.slice(1))?.name ?? 'site';
}

export const choices = new Choices();
