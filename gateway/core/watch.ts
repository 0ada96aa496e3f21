/**
 * The pure core: readings, entries and time come in, pictures go out. No clock, file, socket or dice inside.
 *
 * The order of the stages is the code of #frame: telemetry, pumps, lay, supply, sensors, alarms, picture. One frame a
 * whole second, so the same inputs in the same order give the same pictures, live or replayed. Advice (the lay's
 * diagnosis) may fail without taking the readings with it.
 */
import { CAUSES } from '../../config/causes/causes.ts';
import type { Layout } from '../../config/layout/layout.ts';
import type { ChannelPicture, Entry, Picture, PumpState } from '../../config/wire/wire.ts';
import { AlarmDesk } from './alarms/alarm-desk.ts';
import { localTime } from './alarms/wording.ts';
import { restoreBooks, writeBooks, type Counting } from './books.ts';
import { orderedMove } from './diagnosis/causes/gate-shut.ts';
import { outsideOf } from './diagnosis/states/agreement.ts';
import { BASELINE_READINGS, BaselineSpell } from './diagnosis/baseline/baseline-spell.ts';
import { blindSpots } from './diagnosis/states/blind-spots.ts';
import { Consequences } from './diagnosis/states/consequence.ts';
import type { Finding } from './diagnosis/isolation/finding.ts';
import { Filling } from './diagnosis/pump/filling.ts';
import type { FirstShort } from './diagnosis/supply/first-underpressure.ts';
import { BlockedTaps } from './diagnosis/sensors/blocked-taps.ts';
import type { Boundary } from './diagnosis/model/gauge.ts';
import { NetworkMonitor, type GaugeFrame } from './diagnosis/network-monitor.ts';
import { outletOf, type Outlet } from './diagnosis/pump/outlet.ts';
import { pumpRemarks } from './diagnosis/pump/pump-remarks.ts';
import { PumpWatch } from './diagnosis/pump/pump-watch.ts';
import { StandstillWatch } from './diagnosis/pump/standstill-watch.ts';
import { sensorFindings } from './diagnosis/sensors/sensor-findings.ts';
import { StateWatch } from './diagnosis/states/states.ts';
import { PendingOrders } from './operations/pending-orders.ts';
import { RhythmWatch } from './diagnosis/bursts/rhythm-watch.ts';
import { ShockWatch } from './diagnosis/bursts/shock-watch.ts';
import { SupplyWatch } from './diagnosis/supply/supply-watch.ts';
import { Symptoms, withoutSymptoms } from './diagnosis/isolation/symptoms.ts';
import { WaterTally } from './diagnosis/states/water-tally.ts';
import { Operations } from './operations/entries.ts';
import { Channel } from './telemetry/channel.ts';
import { spreads } from './hydraulics/limits.ts';
import { channelPicture } from './telemetry/channel-picture.ts';
import { restLevelM } from './hydraulics/source.ts';
import type { Reading } from './telemetry/reading.ts';

export interface Watch {
  /** Files a reading. Order of calls is the order of arrival. */
  take(reading: Reading): void;
  /** The channel's device has said that it has no value any more: it is unknown until the next reading. */
  silence(channel: string): void;
  /** A person's entry at `atMs`. Returns an error sentence, or null when it was taken. */
  enter(entry: Entry, atMs: number): string | null;
  /**
   * Moves time on to `nowMs`, frame by whole second; returns the newest picture, or null if no second passed.
   * `wasAway`: nobody watched since the last frame, so the seconds between are not made up and count for no silence.
   */
  advance(nowMs: number, wasAway?: boolean): Picture | null;
  /** What has been counted so far, to be written down; and to go on from there. Null: to count anew. */
  books(): string;
  restore(books: string | null, nowMs: number): void;
}

export function createWatch(layout: Layout, options: { readonly simulated: boolean }): Watch {
  return new SiteWatch(layout, options.simulated);
}

const FRAME_MS = 1_000;
/** After a longer sleep the frames between are skipped: nothing was seen in them. */
const LONGEST_CATCH_UP_MS = 900_000;
/** Judgement: what has just filled, or runs down, is no measure of what is right for so long. */
const SETTLES_MS = 20_000;
const FIRST_SHORT_EVERY_MS = 10_000;
/** Judgement: between a gate's first turn and the readings' word for it. */
const HAND_MS = 15_000;

class SiteWatch implements Watch {
  readonly #layout: Layout;
  readonly #simulated: boolean;
  readonly #channels: ReadonlyMap<string, Channel>;
  readonly #operations: Operations;
  readonly #lay: NetworkMonitor;
  readonly #pumps: readonly PumpWatch[];
  readonly #standstill: StandstillWatch;
  readonly #orders = new PendingOrders();
  readonly #alarms: AlarmDesk;
  readonly #consequences: Consequences;
  readonly #supplies: readonly SupplyWatch[];
  readonly #states = new StateWatch();
  /** Heads that had turning pressure a moment ago. */
  #works: ReadonlySet<string> = new Set();
  readonly #tally: WaterTally;
  readonly #rhythms: RhythmWatch;
  readonly #shocks: ShockWatch;
  readonly #filedMs: Float64Array;
  readonly #followers: BlockedTaps;
  readonly #symptoms = new Symptoms();
  readonly #shorts = new Map<number, FirstShort | null>();
  #frameMs: number | null = null;
  #listening = { startedMs: 0, awayFromMs: 0, awayToMs: 0 };
  readonly #filling = new Filling();
  readonly #spell = new BaselineSpell();
  #baseline: Picture['baseline'] = null;
  #advice: Picture['advice'] = { working: true };

  constructor(layout: Layout, simulated: boolean) {
    this.#layout = layout;
    this.#simulated = simulated;
    this.#channels = new Map(layout.sensors.map((sensor) => [sensor.id, new Channel(sensor)]));
    this.#operations = new Operations(layout);
    this.#alarms = new AlarmDesk(layout, simulated, this.#operations);
    this.#consequences = new Consequences(layout);
    this.#lay = new NetworkMonitor(layout);
    this.#standstill = new StandstillWatch(layout);
    this.#pumps = layout.pumps.map(
      (pump, index) => new PumpWatch(layout, pump, this.#lay.expectation.pumpSides[index]!, this.#channels),
    );
    this.#supplies = layout.sources.map((source) => new SupplyWatch(layout, source, this.#channels));
    this.#tally = new WaterTally(layout);
    this.#rhythms = new RhythmWatch(layout, this.#channels);
    this.#shocks = new ShockWatch(layout, this.#channels);
    this.#filedMs = new Float64Array(this.#lay.gauges.length);
    this.#followers = new BlockedTaps(this.#lay.gauges, this.#channels);
  }

  take(reading: Reading): void {
    this.#channels.get(reading.channel)?.take(reading);
  }

  silence(channel: string): void {
    this.#channels.get(channel)?.silence();
  }

  advance(nowMs: number, wasAway = false): Picture | null {
    const lastWhole = Math.floor(nowMs / FRAME_MS) * FRAME_MS;
    if (this.#frameMs === null) {
      this.#listening = { startedMs: lastWhole, awayFromMs: lastWhole, awayToMs: lastWhole };
      this.#frameMs = lastWhole - FRAME_MS;
      this.#lay.rest(lastWhole, false);
    }
    if (wasAway) this.#listening = { ...this.#listening, awayFromMs: this.#frameMs, awayToMs: lastWhole };
    if (wasAway || lastWhole - this.#frameMs > LONGEST_CATCH_UP_MS)
      this.#frameMs = Math.max(this.#frameMs, lastWhole - FRAME_MS);
    let picture: Picture | null = null;
    while (this.#frameMs + FRAME_MS <= lastWhole) {
      this.#frameMs += FRAME_MS;
      picture = this.#frame(this.#frameMs);
    }
    return picture;
  }

  get #counting(): Counting {
    return {
      tally: this.#tally,
      alarms: this.#alarms,
      operations: this.#operations,
      shocks: this.#shocks,
    };
  }

  books(): string {
    return writeBooks(this.#counting, this.#baseline);
  }

  restore(books: string | null, nowMs: number): void {
    this.#baseline = restoreBooks(this.#counting, books, nowMs, this.#baseline);
  }

  #frame(nowMs: number): Picture {
    this.#operations.expire(nowMs);
    const mode = this.#operations.mode?.name ?? null;
    for (const pump of this.#pumps) {
      const before = pump.regime.state;
      pump.observe(nowMs, mode, () => this.#outlet(pump, nowMs));
      for (const words of pumpRemarks(pump, before)) this.#operations.note(words, null, nowMs);
    }
    this.#shocks.observe(nowMs, this.#operations.notes, this.#operations.looks, this.#operations.seenTurningMs);
    this.#watchLay(nowMs, mode === 'filling');
    this.#supplies.forEach((supply, index) =>
      supply.observe(nowMs, this.#drawnFrom(supply.source.id), this.#firstShort(index, nowMs)),
    );
    const channels = new Map(
      [...this.#channels.values()].map((channel) => [channel.sensor.id, this.#channelPicture(channel, nowMs)]),
    );
    const pumpFindings = [
      ...this.#pumps.flatMap((pump) => pump.findings),
      ...this.#standstill.observe(nowMs, mode, this.#pumps, this.#lay.findings),
    ];
    const ended = this.#symptoms.ended(pumpFindings);
    if (ended) {
      this.#lay.forget(ended.fromMs, ended.keys);
      this.#lay.restart(nowMs, SETTLES_MS);
    }
    this.#rhythms.observe(nowMs, [...pumpFindings, ...this.#lay.findings]);
    const sensors = sensorFindings([...this.#channels.values()], this.#listening, nowMs);
    const ofLay = withoutSymptoms(
      this.#lay.findings,
      [...pumpFindings, ...sensors],
      this.#pumps.map(({ regime }) => regime.pinchedMs),
    );
    const findings = [
      ...pumpFindings,
      ...ofLay,
      ...this.#rhythms.findings,
      ...this.#shocks.findings,
      ...this.#supplies.flatMap((supply) => supply.findings),
      ...sensors,
    ];
    const does = this.#consequences.of({
      nowMs,
      findings,
      lay: this.#lay,
      pumps: this.#pumps,
      supplies: this.#supplies.map(({ picture }) => picture),
      shutByOrder: (line) => this.#operations.shutByOrder(line),
    });
    this.#alarms.update(findings, does, nowMs);
    return this.#picture(nowMs, channels, findings);
  }

  #outlet(pump: PumpWatch, nowMs: number): Outlet {
    const inForce = this.#orders.inForce(this.#operations.gateOpening);
    const inputs = {
      expectation: this.#lay.expectation,
      belief: this.#lay.belief,
      boundary: this.#boundary(nowMs),
      channels: this.#channels,
      discharge: pump.discharge,
      isIdle: (line: string) => this.#operations.shutByOrder(line) || this.#operations.shutByOrder(line, inForce),
    };
    return outletOf(inputs, this.#pumps.indexOf(pump), nowMs);
  }

  get #pumpState(): PumpState {
    const states = this.#pumps.map((pump) => pump.regime.state);
    for (const state of ['dead-head', 'starting', 'running', 'unknown'] as const)
      if (states.includes(state)) return state;
    return 'stopped';
  }

  #watchLay(nowMs: number, declaredFilling: boolean): void {
    const boundary = this.#boundary(nowMs);
    const state = this.#pumpState;
    const known = this.#pumps.every((pump) => pump.known);
    const motions = this.#pumps.filter(({ regime }) => regime.state !== 'stopped').map((pump) => pump.motion(nowMs));
    const motion =
      state === 'running'
        ? ((['throttled', 'rises', 'falls', 'unheard'] as const).find((one) => motions.includes(one)) ?? 'still')
        : 'unheard';
    const flowing =
      (state === 'running' || state === 'starting') &&
      !this.#pumps.some(({ regime }) => regime.pinchedMs !== null || regime.dryRunningMs !== null);
    if (!flowing || !known || declaredFilling) {
      this.#lay.rest(nowMs, !declaredFilling && (state === 'unknown' || (flowing && !known)));
      this.#filling.forget();
      this.#spell.observe(null, nowMs);
      return;
    }
    // A stop that people announced runs down over seconds: nothing is made of it.
    if (this.#operations.mode?.name === 'refuelling' && motion !== 'still') this.#lay.restart(nowMs, SETTLES_MS);
    this.#spell.observe(state === 'starting' ? null : motion, nowMs);
    this.#settleOrders(boundary, nowMs);
    const frame = {
      atMs: nowMs,
      boundary,
      looks: this.#operations.looks,
      hurt: this.#shocks.hurt,
      ordered: this.#orders.awaited.map((gate) => orderedMove(this.#layout, gate, this.#operations.gateOpening[gate]!)),
      ...this.#freshGauges(nowMs),
    };
    try {
      this.#lay.observe(frame, motion);
      this.#followers.observe(nowMs, motion, (gauge) =>
        this.#isIdle(gauge, boundary.gateOpening) ? NaN : this.#lay.healthy!.values[gauge]!,
      );
      this.#advice = { working: true };
    } catch (error) {
      this.#lay.rest(nowMs, false);
      this.#advice = {
        working: false,
        sinceMs: this.#advice.working ? nowMs : this.#advice.sinceMs,
        why: error instanceof Error ? error.message : String(error),
      };
      return;
    }
    if (state === 'starting') this.#watchFilling(nowMs);
  }

  #settleOrders(boundary: Boundary, nowMs: number): void {
    const readings = Float64Array.from(
      this.#lay.gauges,
      ({ sensor }) => this.#channels.get(sensor.id)!.usable(nowMs) ?? NaN,
    );
    const { gateOpening } = this.#operations;
    // A valve on its way shut looks like any other thing that keeps water from its line.
    const foundShut = this.#orders
      .awaitingShut(gateOpening)
      .filter((gate) =>
        this.#lay.findings.some(
          ({ cause, subject }) => CAUSES[cause].family === 'blocked' && subject === this.#layout.gates[gate]!.line,
        ),
      );
    const foundMs = Math.max(
      0,
      ...[...foundShut, ...this.#lay.moved].map((gate) => this.#orders.done(gate, gateOpening)),
    );
    const restMs = Math.max(
      foundMs,
      this.#orders.settle(this.#lay.expectation, this.#lay.belief, boundary, readings, gateOpening, nowMs),
    );
    if (restMs === 0) return;
    boundary.gateOpening.set(this.#orders.inForce(gateOpening));
    this.#lay.restart(nowMs, restMs);
    // What began about when the hand moved is that hand.
    this.#lay.forget(foundShut.length > 0 ? -Infinity : nowMs - HAND_MS);
  }

  #watchFilling(nowMs: number): void {
    const ends = this.#lay.gauges.flatMap(({ kind, sensor }, index) =>
      kind === 'end' && !(sensor.line && this.#operations.shutByOrder(sensor.line))
        ? [{ channel: this.#channels.get(sensor.id)!, expectedPa: this.#lay.bands[index]?.expected ?? null }]
        : [],
    );
    if (!this.#filling.isOver(ends, Math.min(...this.#pumps.map(({ regime }) => regime.stateSinceMs)), nowMs)) return;
    for (const pump of this.#pumps) pump.regime.filled(nowMs);
    this.#lay.restart(nowMs, SETTLES_MS);
  }

  #boundary(nowMs: number): Boundary {
    const column = (value: (pump: PumpWatch) => number | null): Float64Array =>
      Float64Array.from(this.#pumps, (pump) => value(pump) ?? NaN);
    return {
      dischargePa: column((pump) => (pump.regime.state === 'stopped' ? null : pump.readings.dischargePa)),
      suctionPa: column((pump) => pump.readings.suctionPa),
      flowM3s: column((pump) => pump.readings.flowM3s),
      speedRatio: column((pump) => pump.speedRatio),
      levelM: Float64Array.from(
        this.#supplies,
        (supply) =>
          supply.levelM(nowMs) ?? (supply.source.shape.kind === 'open-water' ? restLevelM(supply.source) : NaN),
      ),
      gateOpening: this.#orders.inForce(this.#operations.gateOpening),
    };
  }

  /** Worked out anew every ten seconds: a level moves slowly. */
  #firstShort(source: number, nowMs: number): FirstShort | null {
    if (!this.#lay.present) this.#shorts.delete(source);
    else if (nowMs % FIRST_SHORT_EVERY_MS === 0) this.#shorts.set(source, this.#lay.firstShort(source, this.#works));
    return this.#shorts.get(source) ?? null;
  }

  #drawnFrom(source: string): number | null {
    const flows = this.#pumps
      .filter(({ pump }) => pump.source === source && pump.inlet === null)
      .map(({ readings }) => readings.flowM3s);
    return flows.every((flow) => flow !== null) ? flows.reduce((sum: number, flow) => sum + (flow ?? 0), 0) : null;
  }

  #freshGauges(nowMs: number): Omit<GaugeFrame, 'atMs' | 'boundary' | 'looks' | 'hurt' | 'ordered'> {
    const fresh = new Float64Array(this.#lay.gauges.length).fill(NaN);
    const inForce = this.#orders.inForce(this.#operations.gateOpening);
    const trusted = this.#lay.gauges.map((gauge, index) => {
      const channel = this.#channels.get(gauge.sensor.id)!;
      const value = this.#isIdle(index, inForce) ? null : channel.usable(nowMs);
      if (value !== null && channel.latest!.atMs > this.#filedMs[index]!) {
        this.#filedMs[index] = channel.latest!.atMs;
        fresh[index] = value;
      }
      return value !== null;
    });
    return {
      boundaryMs: Math.max(0, ...this.#pumps.map((pump) => pump.dischargeMs ?? 0)) || nowMs,
      boundaryEveryMs: Math.max(0, ...this.#pumps.map((pump) => pump.discharge?.everyMs ?? 0)),
      everyMs: this.#lay.gauges.map(({ sensor }) => this.#channels.get(sensor.id)!.everyMs),
      fresh,
      measuredMs: this.#filedMs,
      trusted,
    };
  }

  /**
   * A line shut by order drains to whatever its hills hold: nothing to compare with. So does one whose gate is only
   * told to be open.
   */
  #isIdle(gauge: number, inForce: Float64Array): boolean {
    const { line } = this.#lay.gauges[gauge]!.sensor;
    return line !== null && (this.#operations.shutByOrder(line) || this.#operations.shutByOrder(line, inForce));
  }

  #channelPicture(channel: Channel, nowMs: number): ChannelPicture {
    const { id } = channel.sensor;
    const gauge = this.#lay.gauges.findIndex((candidate) => candidate.sensor.id === id);
    const drifts = this.#lay.findings.some((finding) => finding.cause === 'sensor-drift' && finding.subject === id);
    return channelPicture(channel, nowMs, {
      band: gauge < 0 ? null : (this.#lay.bands[gauge] ?? null),
      found: drifts ? 'drifting' : null,
    });
  }

  #picture(nowMs: number, channels: ReadonlyMap<string, ChannelPicture>, findings: readonly Finding[]): Picture {
    const pumpState = this.#pumpState;
    const told = this.#alarms.pictures(nowMs);
    const { lines, heads, structures } = this.#states.judge({
      layout: this.#layout,
      pumpState,
      runningDry: this.#pumps.some((pump) => pump.regime.dryRunningMs !== null),
      pinched: this.#pumps.some((pump) => pump.regime.pinchedMs !== null),
      stoppedUnasked: this.#pumps.some((pump) => pump.stoppedUnasked),
      operations: this.#operations,
      channels,
      findings,
      standing: [...told.alarms, ...told.setAside].filter(({ clearedMs }) => clearedMs === null),
      lay: this.#lay,
      boundary: this.#boundary(nowMs),
      gatesTold: this.#operations.gateOpening,
    });
    this.#tally.second(nowMs, heads);
    // A deadline only for what still works.
    const works = new Set(heads.filter(({ state }) => spreads(state)).map(({ head }) => head));
    this.#works = works;
    return {
      atMs: nowMs,
      simulated: this.#simulated,
      advice: this.#advice,
      baseline: this.#baseline,
      steady: this.#steadiness(nowMs),
      mode: this.#operations.mode,
      channels: [...channels.values()],
      outside: outsideOf(channels, this.#lay),
      pumps: this.#pumps.map((pump) => pump.picture()),
      supplies: this.#supplies.map(({ picture }) =>
        picture.firstShort && !works.has(picture.firstShort.head) ? { ...picture, firstShort: null } : picture,
      ),
      lines,
      heads,
      structures: structures.map((structure) => this.#tally.of(structure)),
      shocks: this.#shocks.shocks,
      rhythms: this.#rhythms.pictures,
      ...told,
      notes: [...this.#operations.notes],
      gates: this.#layout.gates.map((gate, index) => ({
        gate: gate.id,
        opening: this.#operations.gateOpening[index]!,
      })),
      blind: blindSpots(
        this.#layout,
        channels,
        this.#lay.calibrated,
        pumpState === 'running',
        this.#rhythms.pictures,
        this.#creeping(),
      ),
    };
  }

  #creeping(): { label: string; way: 'up' | 'down'; since: string }[] {
    return this.#lay.creeping.map(({ gauge, way, sinceMs }) => ({
      label: this.#lay.gauges[gauge]!.sensor.label,
      way,
      since: localTime(sinceMs, this.#layout.timeZone),
    }));
  }

  enter(entry: Entry, atMs: number): string | null {
    switch (entry.kind) {
      case 'acknowledge':
      case 'shelve':
      case 'unshelve':
        return this.#alarms.enter(entry, atMs);
      case 'mode':
        return this.#operations.setMode(entry, atMs);
      case 'looked':
        return this.#operations.looked(entry, atMs);
      case 'note':
        this.#operations.note(entry.words, entry.by, atMs);
        return null;
      case 'gate': {
        const index = this.#layout.gates.findIndex(({ id }) => id === entry.gate);
        const before = this.#operations.gateOpening[index];
        const refusal = this.#operations.setGate(entry, atMs);
        if (refusal === null) this.#orders.order(index, before!, atMs);
        return refusal;
      }
      case 'assign': {
        const channel = this.#channels.get(entry.sensor);
        if (channel) channel.device = entry.device;
        this.#regauge(
          entry.sensor,
          `'${entry.record}' of '${entry.device}' measures there from now on`,
          entry.by,
          atMs,
        );
        return null;
      }
      case 'tare':
        this.#regauge(entry.sensor, 'its reading in open air is its zero from now on', entry.by, atMs);
        return null;
      case 'baseline':
        return this.#takeBaseline(entry.by, entry.headsSeenTurning, atMs);
    }
  }

  #regauge(sensorId: string, words: string, by: string, atMs: number): void {
    const label = this.#layout.sensors.find(({ id }) => id === sensorId)?.label ?? sensorId;
    this.#lay.regauge(sensorId, atMs);
    this.#operations.note(
      `${label}: ${words}${this.#baseline ? '. Its band is wide until the next baseline' : ''}`,
      by,
      atMs,
    );
  }

  /** Seconds that the pumps have held still, and must for a baseline with these gauges. */
  #steadiness(nowMs: number): NonNullable<Picture['steady']> {
    const channels = this.#lay.gauges.map(({ sensor }) => this.#channels.get(sensor.id)!);
    return {
      heldS: Math.floor(this.#spell.heldMs(nowMs) / 1_000),
      neededS: Math.ceil(this.#spell.neededMs(channels, nowMs) / 1_000),
    };
  }

  #takeBaseline(by: string, heads: readonly string[], atMs: number): string | null {
    const missing = this.#operations.sawTurning(heads, atMs);
    if (missing.length > 0)
      return `Noted what was seen. No baseline yet: ${missing.length} head${missing.length > 1 ? 's' : ''} not ticked (${missing.slice(0, 4).join(', ')}${missing.length > 4 ? ' …' : ''}).`;
    const { heldS, neededS } = this.#steadiness(atMs);
    if (heldS < neededS)
      return `Noted what was seen. No baseline yet: it needs ${neededS} s of steady running with fresh pump readings (${BASELINE_READINGS} of every gauge). So far ${heldS} s. Try again then.`;
    const channels = this.#lay.gauges.map(({ sensor }) => this.#channels.get(sensor.id)!);
    const means = Float64Array.from(channels, (channel) => this.#spell.mean(channel, atMs));
    const boundary = this.#boundary(atMs);
    const columns = { rise: boundary.dischargePa, suction: boundary.suctionPa, flow: boundary.flowM3s, end: null };
    this.#lay.gauges.forEach(({ kind, pump }, index) => {
      if (Number.isFinite(means[index]!)) columns[kind]?.fill(means[index]!, pump, pump + 1);
    });
    this.#pumps.forEach((pump, index) => {
      boundary.speedRatio[index] = pump.meanSpeedRatio((channel) => this.#spell.mean(channel, atMs)) ?? NaN;
    });
    const counts = channels.map((channel) => this.#spell.count(channel, atMs)).filter((count) => count > 0);
    const result = this.#lay.baseline(boundary, means, Math.min(...counts), atMs);
    this.#operations.note(result.words, by, atMs);
    if (!result.ok) return result.words;
    this.#rhythms.learn(atMs);
    this.#baseline = { atMs, by, words: result.words, ...result.learned };
    return null;
  }
}
