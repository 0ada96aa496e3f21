/**
 * One water source with its level sensor: how long it lasts, and what is wrong with it.
 *
 * In: channels, drawn flow, time. Out: SupplyPicture; findings: tank low, tank leaking, tank full to the rim. Findings
 * stand while the level cannot be seen: losing data never clears a trouble.
 */
import type { Layout, Source } from '../../../../config/layout/layout.ts';
import { unknownSupply } from '../../../../config/wire/unknown-picture.ts';
import type { Estimate, SupplyPicture } from '../../../../config/wire/wire.ts';
import { isWaterLow } from '../../hydraulics/limits.ts';
import { sourceDepthM, volumeAtDepth } from '../../hydraulics/source.ts';
import type { Channel } from '../../telemetry/channel.ts';
import { DrawnVolume } from './drawn-volume.ts';
import type { Finding } from '../isolation/finding.ts';
import type { FirstShort } from './first-underpressure.ts';
import { RefillCycle } from './refill-cycle.ts';
import { supplyPicture } from './supply.ts';
import { TankBalance } from './tank-balance.ts';

/** Judgement: less than a third of what a refill takes is news also where the tank runs down so far every time. */
const LEAST_REFILL_SHARE = 1 / 3;
/** Judgement: so much longer by its level than by what is drawn, and water runs in. */
const FED_SHARE = 1.5;
/** Judgement: with less of the tank left within reach it is empty, whether anything is drawn or not. */
const EMPTY_SHARE = 0.06;
/** Judgement: what a flow meter that stands in for the trend leaves open. */
const FLOW_SHARE = 0.1;
/** Judgement: full to the rim within this share of the depth, and still rising or held there. */
const RIM_SHARE = 0.985;
const RIM_CLEAR_SHARE = 0.96;
/** Judgement: a smaller leak, as a share of what is drawn, is not worth a walk. */
const LEAST_LEAK_SHARE = 0.008;

export class SupplyWatch {
  readonly source: Source;
  findings: readonly Finding[] = [];
  picture: SupplyPicture;
  readonly #channel: Channel | undefined;
  readonly #balance: TankBalance;
  readonly #fullM: number;
  /** Within reach of the suction when full. */
  readonly #usableM3: number;
  readonly #cycle = new RefillCycle();
  readonly #drawn = new DrawnVolume();
  #drawnM3s = 0;
  #seenMs = 0;

  constructor(layout: Layout, source: Source, channels: ReadonlyMap<string, Channel>) {
    this.source = source;
    const sensor = layout.sensors.find(
      (candidate) =>
        candidate.quantity === 'level' &&
        candidate.mounting.kind === 'source' &&
        candidate.mounting.source === source.id,
    );
    this.#channel = sensor && channels.get(sensor.id);
    this.#fullM = source.shape.kind === 'open-water' ? Infinity : sourceDepthM(source.shape);
    const volume = (depthM: number): number => volumeAtDepth(source.shape, depthM) ?? 0;
    this.#usableM3 = source.usable * (this.#fullM === Infinity ? 0 : volume(this.#fullM));
    const areaM2 =
      this.#fullM === Infinity ? 0 : (volume(0.55 * this.#fullM) - volume(0.45 * this.#fullM)) / (0.1 * this.#fullM);
    this.#balance = new TankBalance(Math.max(1e-6, (sensor?.noiseSd ?? 0) * areaM2));
    this.picture = unknownSupply(source.id);
  }

  levelM(nowMs: number): number | null {
    return this.#channel?.usable(nowMs) ?? null;
  }

  /** `drawnM3s`: sum of what the pumps on it measure; null: one of them is not known. */
  observe(nowMs: number, drawnM3s: number | null, firstShort: FirstShort | null): void {
    const levelM = this.levelM(nowMs);
    this.#drawn.second(nowMs, drawnM3s);
    this.picture = supplyPicture(this.source, {
      atMs: nowMs,
      levelM,
      levels: this.#channel?.between(nowMs - 300_000, nowMs) ?? [],
      levelSdM: this.#channel?.sensor.noiseSd ?? 0,
      drawnM3s,
      drawn: this.#drawn,
      firstShort,
    });
    const { volumeM3, filling } = this.picture;
    if (levelM === null || volumeM3 === null) return;
    const measuredMs = this.#channel!.latest!.atMs;
    const fresh = measuredMs > this.#seenMs;
    this.#seenMs = measuredMs;
    this.#balance.observe(nowMs, fresh ? volumeM3 : null, drawnM3s, filling);
    this.#drawnM3s = drawnM3s ?? this.#drawnM3s;
    this.#cycle.observe(nowMs, this.picture.usableM3!, filling);
    this.findings = [...this.#low(nowMs), ...this.#leak(drawnM3s), ...this.#overfull(nowMs, levelM)];
  }

  /**
   * A tank that is being filled is as near to empty as before, should that end. One that is refilled again and again
   * says nothing while it keeps to its swing.
   */
  #low(nowMs: number): Finding[] {
    const { refillS } = this.source;
    const { emptyInS, usableM3 } = this.picture;
    const earlier = this.#current('tank-low');
    const unfed = earlier ? this.#unfed() : null;
    // Water runs in as long as it lasts longer by the level than by what is drawn.
    const isEmpty = unfed?.best === 0;
    const runsIn = unfed !== null && (emptyInS?.best ?? Infinity) > FED_SHARE * unfed.best;
    const filling = this.picture.filling || (runsIn && !isEmpty);
    const left = filling || isEmpty ? unfed : emptyInS;
    if (!left || !isWaterLow(left.best, refillS, earlier !== undefined)) return [];
    const usual = this.#cycle.holds(usableM3!) && left.best > LEAST_REFILL_SHARE * refillS;
    if (usual && (!earlier || this.#cycle.isUp(usableM3!))) return [];
    return [this.#finding('tank-low', earlier?.sinceMs ?? nowMs, 0.95, { leftS: left, refillS, filling, usual })];
  }

  /** How long what is there would last at what is drawn, or was when that was last heard; null: nothing is drawn. */
  #unfed(): Estimate | null {
    const { usableM3 } = this.picture;
    if (usableM3! < EMPTY_SHARE * this.#usableM3) return { best: 0, low: 0, high: 0 };
    const best = usableM3! / this.#drawnM3s;
    return Number.isFinite(best) ? { best, low: best * (1 - FLOW_SHARE), high: best * (1 + FLOW_SHARE) } : null;
  }

  #leak(drawnM3s: number | null): Finding[] {
    const { leak } = this.#balance;
    if (!leak || leak.rateM3s < LEAST_LEAK_SHARE * (drawnM3s ?? 0)) return [];
    const { rateM3s, sdM3s, sinceMs } = leak;
    const finding = this.#finding('tank-leak', sinceMs, 0.9, {});
    return [{ ...finding, sizeM3s: { best: -rateM3s, low: -rateM3s - 2 * sdM3s, high: -rateM3s + 2 * sdM3s } }];
  }

  #overfull(nowMs: number, levelM: number): Finding[] {
    const earlier = this.#current('tank-overfull');
    const rising = (this.picture.trendM3s ?? 0) > 0 || this.picture.filling;
    const share = levelM / this.#fullM;
    if (earlier ? share < RIM_CLEAR_SHARE : !(share > RIM_SHARE && rising)) return [];
    return [this.#finding('tank-overfull', earlier?.sinceMs ?? nowMs, 0.9, {})];
  }

  #current(cause: Finding['cause']): Finding | undefined {
    return this.findings.find((finding) => finding.cause === cause);
  }

  #finding(cause: Finding['cause'], sinceMs: number, probability: number, facts: Finding['facts']): Finding {
    const { id } = this.source;
    return {
      key: `${cause}:${id}`,
      cause,
      subject: id,
      subjectKind: 'source',
      places: [{ id, probability: 1 }],
      sinceMs,
      probability,
      sizeM3s: null,
      evidence: [],
      rivals: [],
      question: null,
      facts,
    };
  }
}
