/**
 * From findings to what is annunciated: puts them into words, weighs them by what they do, and takes what people enter
 * about alarms.
 *
 * In: findings with what each does, time, mode; entries. Out: alarms, those set aside, the load, and sentences for the
 * record. Pure: the same calls give the same answers.
 */
import { CAUSES } from '../../../config/causes/causes.ts';
import type { Layout } from '../../../config/layout/layout.ts';
import type { Alarm, AlarmLoad, AsideAlarm } from '../../../config/wire/wire.ts';
import type { Consequence } from '../diagnosis/states/consequence.ts';
import type { Finding } from '../diagnosis/isolation/finding.ts';
import type { AlarmEntry } from '../operations/entry-desk.ts';
import type { Operations } from '../operations/operations.ts';
import { Alarms } from './lifecycle.ts';
import { LoadBooks, type LoadCount } from './load.ts';
import { verdictOf } from './wording.ts';

export interface AlarmBooks {
  readonly entries: Alarms['entries'];
  readonly load: LoadCount;
}

export class AlarmDesk {
  readonly #layout: Layout;
  readonly #simulated: boolean;
  readonly #operations: Operations;
  readonly #alarms = new Alarms();
  readonly #load = new LoadBooks();

  constructor(layout: Layout, simulated: boolean, operations: Operations) {
    this.#layout = layout;
    this.#simulated = simulated;
    this.#operations = operations;
  }

  update(findings: readonly Finding[], does: ReadonlyMap<string, Consequence | null>, nowMs: number): void {
    const around = { simulated: this.#simulated, hazards: this.#hazards(findings) };
    const events = this.#alarms.update(
      findings.map((finding) => verdictOf(finding, this.#layout, around)),
      nowMs,
      this.#operations.mode,
      does,
    );
    for (const { words } of events) this.#operations.note(words, null, nowMs);
    this.#load.file(events, nowMs);
  }

  /** Where one is found, and where one was until somebody has acknowledged that it is over. */
  #hazards(findings: readonly Finding[]): ReadonlySet<string> {
    return new Set([
      ...findings.filter(({ cause }) => CAUSES[cause].hazard).map(({ subject }) => subject),
      ...this.#alarms
        .list()
        .filter(({ priority }) => priority === 'people')
        .map(({ verdict }) => verdict.subject),
    ]);
  }

  /** A sentence why it was not taken, or null. */
  enter(entry: AlarmEntry, atMs: number): string | null {
    const alarm = [...this.#alarms.list(), ...this.#alarms.setAside()].find(
      ({ verdict }) => verdict.id === entry.alarm,
    );
    const refusal = this.#take(entry, atMs);
    if (refusal === null) this.#operations.note(`${saidOf(entry)}: ${alarm!.verdict.headline}`, entry.by, atMs);
    return refusal;
  }

  #take(entry: AlarmEntry, atMs: number): string | null {
    switch (entry.kind) {
      case 'acknowledge':
        return this.#alarms.acknowledge(entry.alarm, entry.by)
          ? null
          : `There is no alarm '${entry.alarm}' on the list now.`;
      case 'shelve':
        return this.#alarms.shelve(entry.alarm, entry.by, entry.why, entry.minutes, atMs);
      case 'unshelve':
        return this.#alarms.unshelve(entry.alarm);
    }
  }

  /** What has been counted and is known of alarms, in a form that can be written down. */
  get books(): AlarmBooks {
    return { entries: this.#alarms.entries, load: this.#load.count };
  }

  /** Goes on from there; null: counts anew, with the alarms that are known now. */
  restore(books: AlarmBooks | null): void {
    this.#load.restore(books?.load ?? null);
    if (books) this.#alarms.restore(books.entries);
  }

  pictures(nowMs: number): {
    readonly alarms: readonly Alarm[];
    readonly setAside: readonly AsideAlarm[];
    readonly alarmLoad: AlarmLoad;
  } {
    const alarms = this.#alarms.list();
    return { alarms, setAside: this.#alarms.setAside(), alarmLoad: this.#load.figures(alarms, nowMs) };
  }
}

function saidOf(entry: AlarmEntry): string {
  switch (entry.kind) {
    case 'acknowledge':
      return 'Acknowledged';
    case 'shelve':
      return `Shelved for ${entry.minutes} min (${entry.why.trim()})`;
    case 'unshelve':
      return 'Taken off the shelf';
  }
}
