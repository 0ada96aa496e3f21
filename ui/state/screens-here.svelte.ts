/**
 * Which of the later screens are on this device. All of them are brought after the first picture, whatever is opened,
 * because the gateway may be gone by the time somebody needs one; what failed is tried again until all are here.
 *
 * Out: the screen by its name once it is here, what is missing, and whether the last try failed. One after another, so
 * that none makes a long task; what somebody waits for goes first.
 */
import type { Component } from 'svelte';
import type { Layout } from '../../config/layout.ts';
import { bringFile, fetchScreenList, ownScreen } from '../link/screen-files.ts';
import { waitMs } from '../link/live-link.ts';
import type { ScreenName } from '../words/screens.ts';
import { pageKeeping } from './page-keeping.svelte.ts';

type Screen = Component<{ layout: Layout }>;

/** In the order in which they are missed without a gateway. */
const LATER = {
  'what-if': () => import('../screens/WhatIfScreen.svelte'),
  'pre-flight': () => import('../screens/PreflightScreen.svelte'),
  handover: () => import('../screens/HandoverScreen.svelte'),
  structures: () => import('../screens/StructuresScreen.svelte'),
  pump: () => import('../screens/PumpScreen.svelte'),
  alarms: () => import('../screens/AlarmsScreen.svelte'),
  trend: () => import('../screens/TrendScreen.svelte'),
  review: () => import('../screens/ReviewScreen.svelte'),
} as const satisfies Partial<Record<ScreenName, () => Promise<{ default: Screen }>>>;
type LaterName = keyof typeof LATER;
const NAMES = Object.keys(LATER) as LaterName[];

/** Judgement: what the first picture brings with it is on the page by then. */
const BEGIN_AFTER_MS = 700;
const AT_ONCE = 4;

class ScreensHere {
  #here = $state.raw<Readonly<Partial<Record<LaterName, Screen>>>>({});
  /** The last try failed; another follows. */
  failed = $state(false);
  /** The file is here and yet does not run, over and over. */
  stuck = $state(false);
  missing = $derived(NAMES.filter((name) => !this.#here[name]));
  #wanted: ScreenName | null = null;
  #begun = false;
  #tries = 0;
  #allBrought = false;
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
      try {
        await this.#bringFiles();
        await this.#runNext();
        this.failed = false;
      } catch {
        this.failed = true;
        await this.#pause(waitMs(this.#tries, Math.random()));
        this.#tries += 1;
      }
    }
  }

  async #bringFiles(): Promise<void> {
    if (this.#allBrought || (await pageKeeping.look())) return;
    const list = await fetchScreenList();
    // Another build's files are none of this screen's; the page is about to be renewed.
    if (list?.id !== ownScreen()) throw new Error('the gateway is not reached, or has another screen');
    const files = list.files.filter((path) => path.startsWith('/assets/') && !this.#brought.has(path));
    for (let at = 0; at < files.length; at += AT_ONCE)
      await Promise.all(
        files.slice(at, at + AT_ONCE).map(async (path) => {
          await bringFile(path);
          this.#brought.add(path);
        }),
      );
    this.#allBrought = true;
  }

  async #runNext(): Promise<void> {
    for (let name = this.#next(); name; name = this.#next()) {
      try {
        const { default: screen } = await LATER[name]();
        this.#here = { ...this.#here, [name]: screen };
      } catch (error) {
        this.stuck = this.#tries > 2;
        throw error;
      }
      await this.#pause(0);
    }
  }

  #next(): LaterName | undefined {
    return this.missing.find((name) => name === this.#wanted) ?? this.missing[0];
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
