/**
 * Which of the later screens are on this device. All of them are brought after the first picture, whatever is opened,
 * because the gateway may be gone by the time somebody needs one; what failed is tried again until all are here.
 *
 * Out: the screen by its name once it is here, what is missing, and whether the last try failed. One after another, so
 * that none makes a long task; what somebody waits for goes first.
 */
import type { Component } from 'svelte';
import type { Layout } from '../../config/layout/layout.ts';
import { bringFile, fetchScreenList, ownScreen } from '../link/screen-files.ts';
import { waitMs } from '../link/live-link.ts';
import type { ScreenName } from '../words/screens.ts';
import { pageKeeping } from './page-keeping.svelte.ts';

type Screen = Component<{ layout: Layout }>;

/** By module, in the order in which they are missed without a gateway. */
const LATER = {
  'what-if': ['WhatIfScreen', () => import('../screens/WhatIfScreen.svelte')],
  'pre-flight': ['PreflightScreen', () => import('../screens/PreflightScreen.svelte')],
  handover: ['HandoverScreen', () => import('../screens/HandoverScreen.svelte')],
  structures: ['StructuresScreen', () => import('../screens/StructuresScreen.svelte')],
  pump: ['PumpScreen', () => import('../screens/PumpScreen.svelte')],
  alarms: ['AlarmsScreen', () => import('../screens/AlarmsScreen.svelte')],
  trend: ['TrendScreen', () => import('../screens/TrendScreen.svelte')],
  review: ['ReviewScreen', () => import('../screens/ReviewScreen.svelte')],
} as const satisfies Partial<Record<ScreenName, readonly [string, () => Promise<{ default: Screen }>]>>;
type LaterName = keyof typeof LATER;
const NAMES = Object.keys(LATER) as LaterName[];

/** Judgement: what the first picture brings with it is on the page by then. */
const BEGIN_AFTER_MS = 700;

class ScreensHere {
  #here = $state.raw<Readonly<Partial<Record<LaterName, Screen>>>>({});
  /** The last try failed; another follows. */
  failed = $state(false);
  /** A file is here and yet does not run, over and over. */
  stuck = $state(false);
  missing = $derived(NAMES.filter((name) => !this.#here[name]));
  #wanted: ScreenName | null = null;
  #begun = false;
  #tries = 0;
  readonly #brought = new Set<string>();
  #hurry: (() => void) | null = null;

  of(name: ScreenName): Screen | null {
    return this.#here[name as LaterName] ?? null;
  }

  /** Somebody waits for it. */
  want(name: ScreenName): void {
    this.#wanted = name;
  }

  begin(whenAll: () => void): void {
    if (this.#begun) return;
    this.#begun = true;
    setTimeout(() => void this.#bringAll().then(whenAll), BEGIN_AFTER_MS);
  }

  /** The gateway is back. */
  again(): void {
    this.#tries = 0;
    this.#hurry?.();
  }

  async #bringAll(): Promise<void> {
    while (this.missing.length > 0) {
      this.failed = !(await this.#round());
      if (!this.failed) continue;
      await this.#pause(waitMs(this.#tries, Math.random()));
      this.#tries += 1;
    }
  }

  /** Whether each that was missing came. One that fails does not hold up the others. */
  async #round(): Promise<boolean> {
    const list = (await pageKeeping.look()) ? null : await fetchScreenList();
    // Another build's files are none of this screen's; the page is about to be renewed.
    if (!pageKeeping.kept && list?.id !== ownScreen()) return false;
    const tried: LaterName[] = [];
    for (;;) {
      const left = this.missing.filter((name) => !tried.includes(name));
      const name = left.find((one) => one === this.#wanted) ?? left[0];
      if (!name) return this.missing.length === 0;
      tried.push(name);
      await this.#bring(name, list?.screens[LATER[name][0]] ?? []);
      await this.#pause(0);
    }
  }

  async #bring(name: LaterName, files: readonly string[]): Promise<void> {
    try {
      const due = files.filter((path) => !this.#brought.has(path));
      await Promise.all(due.map(async (path) => (await bringFile(path), this.#brought.add(path))));
    } catch {
      return;
    }
    try {
      const { default: screen } = await LATER[name][1]();
      this.#here = { ...this.#here, [name]: screen };
    } catch {
      this.stuck = this.#tries > 2;
    }
  }

  async #pause(lengthMs: number): Promise<void> {
    await new Promise<void>((done) => {
      const timer = setTimeout(done, lengthMs);
      this.#hurry = () => (clearTimeout(timer), done());
    });
    this.#hurry = null;
  }
}

export const screensHere = new ScreensHere();
