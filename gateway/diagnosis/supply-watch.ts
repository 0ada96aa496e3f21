/**
 * One water source with its level sensor: how long it lasts, and what is wrong with it.
 *
 * In: channels, drawn flow, time. Out: SupplyPicture; findings: tank low, tank leaking, tank full to the rim. Findings
 * stand while the level cannot be seen: losing data never clears a trouble.
 */
import type { Layout, Source } from '../../config/layout.ts';
import type { SupplyPicture } from '../../config/wire.ts';
import { isWaterLow } from '../hydraulics/limits.ts';
import { sourceDepthM, volumeAtDepth } from '../hydraulics/source.ts';
import type { Channel } from '../telemetry/channel.ts';
import type { Finding } from './finding.ts';
import type { FirstShort } from './first-short.ts';
import { supplyPicture } from './supply.ts';
import { TankBalance } from './tank-balance.ts';

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
    const areaM2 =
      this.#fullM === Infinity ? 0 : (volume(0.55 * this.#fullM) - volume(0.45 * this.#fullM)) / (0.1 * this.#fullM);
    this.#balance = new TankBalance(Math.max(1e-6, (sensor?.noiseSd ?? 0) * areaM2));
    this.picture = {
      source: source.id,
      volumeM3: null,
      usableM3: null,
      trendM3s: null,
      filling: false,
      emptyInS: null,
      firstShort: null,
    };
  }

  levelM(nowMs: number): number | null {
    return this.#channel?.usable(nowMs) ?? null;
  }

  /** `drawnM3s`: sum of what the pumps on it measure; null: one of them is not known. */
  observe(nowMs: number, drawnM3s: number | null, firstShort: FirstShort | null): void {
    const levelM = this.levelM(nowMs);
    this.picture = supplyPicture(this.source, {
      atMs: nowMs,
      levelM,
      levels: this.#channel?.between(nowMs - 300_000, nowMs) ?? [],
      levelSdM: this.#channel?.sensor.noiseSd ?? 0,
      drawnM3s,
      firstShort,
    });
    const { volumeM3, filling } = this.picture;
    if (levelM === null || volumeM3 === null) return;
    const measuredMs = this.#channel!.latest!.atMs;
    const fresh = measuredMs > this.#seenMs;
    this.#seenMs = measuredMs;
    this.#balance.observe(nowMs, fresh ? volumeM3 : null, drawnM3s, filling);
    this.findings = [...this.#low(nowMs), ...this.#leak(drawnM3s), ...this.#overfull(nowMs, levelM)];
  }

  #low(nowMs: number): Finding[] {
    const left = this.picture.emptyInS;
    const was = this.#standing('tank-low');
    if (!left || !isWaterLow(left.best, was !== undefined)) return [];
    return [this.#finding('tank-low', was?.sinceMs ?? nowMs, 0.95, { leftS: left })];
  }

  #leak(drawnM3s: number | null): Finding[] {
    const { leak } = this.#balance;
    if (!leak || leak.rateM3s < LEAST_LEAK_SHARE * (drawnM3s ?? 0)) return [];
    const { rateM3s, sdM3s, sinceMs } = leak;
    const finding = this.#finding('tank-leak', sinceMs, 0.9, {});
    return [{ ...finding, sizeM3s: { best: -rateM3s, low: -rateM3s - 2 * sdM3s, high: -rateM3s + 2 * sdM3s } }];
  }

  #overfull(nowMs: number, levelM: number): Finding[] {
    const was = this.#standing('tank-overfull');
    const rising = (this.picture.trendM3s ?? 0) > 0 || this.picture.filling;
    const share = levelM / this.#fullM;
    if (was ? share < RIM_CLEAR_SHARE : !(share > RIM_SHARE && rising)) return [];
    return [this.#finding('tank-overfull', was?.sinceMs ?? nowMs, 0.9, {})];
  }

  #standing(cause: Finding['cause']): Finding | undefined {
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
