/**
 * Random lives of a gateway's clock, and whether any reading that was acknowledged is missing afterwards.
 *
 * In: a seed. A life is a row of: readings, hours and weeks of running, clocks that are slow or fast, steps both ways
 * by seconds to weeks, a sync hours after the start, a full disk, restarts with a clock that was set or begins anew,
 * kills. The real run loop and journal on a folder; the core is a stand-in. Out: what was acknowledged and is nowhere.
 * Only the truth of this file, which no clock of the gateway can change, says what may have been thinned: a run that
 * ended two weeks of running ago (a day where the disk was nearly full); its minutes must be there.
 */
import Database from 'better-sqlite3';
import { cpSync, mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Journal } from '../../gateway/journal/journal.ts';
import { RunLoop } from '../../gateway/site/run-loop.ts';
import { blankPicture } from '../support/blank-picture.ts';
import { demoSite } from '../support/demo-site.ts';

const { layout, text } = demoSite();
const HOUR = 3_600_000;
const DAY = 24 * HOUR;
const TRUE_START = 1_790_000_000_000;
const TOPIC = `wetdown/${layout.site}/pump-box/senml`;

export interface ClockLife {
  readonly acknowledged: number;
  /** Acknowledged, and neither there nor rightly thinned. */
  readonly lost: number;
  readonly thinned: number;
  /** Of what was thinned, minutes that are missing. */
  readonly withoutMinute: number;
  readonly runs: number;
  readonly steps: number;
  readonly restarts: number;
}

interface Given {
  readonly value: number;
  run: string;
  acknowledged: boolean;
}

class Life {
  readonly given: Given[] = [];
  /** By run, how long gateways had run when it was last written. */
  readonly writtenUpMs = new Map<string, number>();
  steps = 0;
  restarts = 0;
  everFull = false;
  upMs = 0;
  #folder = mkdtempSync(join(tmpdir(), 'wetdown-clock-'));
  #offsetMs = 0;
  #rate = 1;
  #bootUpMs = 0;
  #full = false;
  #loop: RunLoop;
  readonly #random: () => number;

  constructor(random: () => number) {
    this.#random = random;
    this.#offsetMs = this.#bootOffset();
    this.#loop = this.#start();
  }

  get folder(): string {
    return this.#folder;
  }

  #wallMs(): number {
    return Math.round(TRUE_START + this.upMs * this.#rate + this.#offsetMs);
  }

  #start(): RunLoop {
    this.#bootUpMs = this.upMs;
    return new RunLoop({
      layout,
      layoutText: text,
      software: 'test',
      bundledSimulator: false,
      broker: '',
      wallMs: () => this.#wallMs(),
      upMs: () => this.upMs - this.#bootUpMs,
      makeWatch: (_layout, { simulated }) => ({
        take: () => undefined,
        silence: () => undefined,
        enter: () => null,
        books: () => '',
        restore: () => undefined,
        advance: (nowMs) => blankPicture(Math.floor(nowMs / 1_000) * 1_000, { simulated }),
      }),
      openJournal: (facts, patient) => Journal.open(this.#folder, facts, patient, () => (this.#full ? 3e8 : 1e12)),
      restarted: () => undefined,
      show: () => undefined,
    });
  }

  /** Right, days slow as after a winter in the box, hours off, or the same second at every start. */
  #bootOffset(): number {
    return this.#pick([0, 0, -20 * DAY, -3 * HOUR, 2 * DAY, -this.upMs - 400 * DAY, -40_000]);
  }

  #pick<Choice>(choices: readonly Choice[]): Choice {
    return choices[Math.floor(this.#random() * choices.length)]!;
  }

  readings(): void {
    for (let left = 1 + Math.floor(4 * this.#random()); left > 0; left -= 1) {
      this.upMs += 250 + Math.floor(4_000 * this.#random());
      const given: Given = { value: this.given.length + 1, run: '', acknowledged: false };
      this.given.push(given);
      this.#loop.packet({
        topic: TOPIC,
        payload: Buffer.from(JSON.stringify([{ n: 'discharge', u: 'Pa', v: given.value }])),
        retained: false,
        acknowledge: () => {
          given.acknowledged = true;
        },
      });
      given.run = this.#loop.run.name;
      this.#tick();
    }
  }

  #tick(): void {
    this.#loop.tick();
    this.writtenUpMs.set(this.#loop.run.name, this.upMs);
  }

  /** Time goes by, with some ticks in each part of it. */
  pass(ms: number): void {
    for (let part = 0; part < 12; part += 1) {
      this.upMs += ms / 12;
      for (let tick = 0; tick < 4; tick += 1) {
        this.upMs += 250;
        this.#tick();
      }
    }
  }

  act(): void {
    const act = this.#pick([
      'readings',
      'readings',
      'hours',
      'weeks',
      'step',
      'sync',
      'drift',
      'disk',
      'restart',
      'kill',
    ]);
    if (act === 'readings') this.readings();
    else if (act === 'hours') this.pass(this.#random() * 30 * HOUR);
    else if (act === 'weeks') this.pass(this.#random() * 20 * DAY);
    else if (act === 'step')
      this.#step(this.#pick([1_000, 29_000, 31_000, HOUR, 25 * HOUR, 20 * DAY]) * this.#pick([1, -1]));
    else if (act === 'sync') this.#step(-this.#offsetMs - this.upMs * (this.#rate - 1));
    else if (act === 'drift') this.#drift(this.#pick([0.97, 0.9999, 1, 1.0001, 1.03]));
    else if (act === 'disk') this.#fill();
    else if (act === 'restart') this.#restart();
    else this.#kill();
    this.readings();
  }

  #step(ms: number): void {
    this.steps += 1;
    this.#offsetMs += ms;
    this.#tick();
  }

  #drift(rate: number): void {
    this.#offsetMs += this.upMs * (this.#rate - rate);
    this.#rate = rate;
  }

  #fill(): void {
    this.#full = !this.#full;
    this.everFull ||= this.#full;
  }

  #restart(): void {
    this.restarts += 1;
    this.#loop.close();
    if (this.#random() < 0.5) this.#offsetMs = this.#bootOffset();
    this.#loop = this.#start();
  }

  /** What a killed process leaves: files as they are, and no lock that holds. */
  #kill(): void {
    this.restarts += 1;
    const left = mkdtempSync(join(tmpdir(), 'wetdown-clock-'));
    cpSync(this.#folder, left, {
      recursive: true,
      filter: (path) => !path.endsWith('-shm') && !path.endsWith('.lock'),
    });
    this.#loop.close();
    rmSync(this.#folder, { recursive: true, force: true });
    this.#folder = left;
    if (this.#random() < 0.5) this.#offsetMs = this.#bootOffset();
    this.#loop = this.#start();
  }

  close(): void {
    this.#loop.close();
  }
}

export function liveByClocks(seed: number, acts = 14): ClockLife {
  const life = new Life(randomOf(seed));
  life.readings();
  for (let act = 0; act < acts; act += 1) life.act();
  life.close();
  const { values, minutes, runs } = readBack(life.folder);
  const acknowledged = life.given.filter((one) => one.acknowledged);
  const keptMs = life.everFull ? DAY : 14 * DAY;
  const gone = acknowledged.filter(({ value }) => !values.has(value));
  const [thinned, lost] = [gone, gone].map((some, index) =>
    some.filter(({ run }) => life.upMs - (life.writtenUpMs.get(run) ?? Infinity) >= keptMs === (index === 0)),
  ) as [Given[], Given[]];
  rmSync(life.folder, { recursive: true, force: true });
  return {
    acknowledged: acknowledged.length,
    lost: lost.length,
    thinned: thinned.length,
    withoutMinute: thinned.filter(
      ({ run, value }) => !minutes.get(run)?.some(([low, high]) => low <= value && value <= high),
    ).length,
    runs,
    steps: life.steps,
    restarts: life.restarts,
  };
}

/** Of what is in all files: readings that have their packet too, and the reach of the minutes by run. */
function readBack(folder: string): { values: Set<number>; minutes: Map<string, [number, number][]>; runs: number } {
  const values = new Set<number>();
  const minutes = new Map<string, [number, number][]>();
  const files = readdirSync(folder).filter((name) => name.endsWith('.sqlite'));
  for (const file of files) {
    const database = new Database(join(folder, file), { readonly: true });
    const rows = database
      .prepare<[], { value: number }>('select value from reading join packet on packet = number')
      .all();
    for (const { value } of rows) values.add(value);
    const kept = database
      .prepare<[], { lowest: number; highest: number }>('select lowest, highest from reading_minute')
      .all();
    minutes.set(
      file.slice(0, -'.sqlite'.length),
      kept.map(({ lowest, highest }) => [lowest, highest]),
    );
    database.close();
  }
  return { values, minutes, runs: files.length };
}

/** mulberry32: public domain. */
function randomOf(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296;
  };
}
