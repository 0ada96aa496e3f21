/**
 * The lay in motion: pump, hoses that fill and stretch, heads as orifices, tank and fuel.
 *
 * State: gauge pressure at every place, filled share of every hose, engine speed, litres. Each step solves the nodes'
 * water balance (stretch of the hoses against what flows in) by implicit Euler and Newton on a dense matrix, so it is
 * stable at any step. A hose carries water through only once it is full; until then its wet end feeds the front.
 * Friction factors follow the flow half of the way each step, not within it: between laminar and rough they would swing
 * for ever. A stopped pump lets water through, forwards where the water lies higher, back where no valve holds it.
 * Limit: no column separation; what drains back comes out of the stretch of the hoses, which stay full; pressure waves
 * are smeared over a step.
 */
import type { Layout } from '../config/layout/layout.ts';
import { healthy, type Conditions } from './conditions.ts';
import { driven, eliminate, GRAVITY, hoseResistance, WATER_DENSITY } from './flow-law.ts';
import { Shocks } from './shocks.ts';
import { trueLay, type TrueHose, type TrueLay } from './truth.ts';
import { curveAt, depthAt, depthOf, sourceVolume } from './vessel.ts';

const STEP_S = 0.25;
const ENGINE_LAG_S = 2;
/** Stretch of lay-flat hose: its volume grows by this share per Pa. Assumption, no source. */
const STRETCH_PER_PA = 5e-8;
const NEWTON_ROUNDS = 30;
/** After so many rounds half a step is taken: heads that open and shut about zero pressure would swing for ever. */
const FULL_ROUNDS = 8;
/** Below this speed a pump is a passage and no more. */
const PASSIVE_SPEED = 0.03;
/** Loss factor of a pump that stands still, on the velocity head of its suction hose. Assumption. */
const PASSAGE_LOSS = 6;
/** A suction holds no water column below this, and little just above. */
const CAVITATION_PA = -92_000;
const CAVITATION_WIDTH_PA = 8_000;
/** A governor: share of the shut-off rise it holds at full throttle, and how fast it moves the speed. Assumptions. */
const GOVERNED_SHARE = 0.6;
const GOVERNOR_PER_S = 0.4;
const GOVERNOR_LIMITS = [0.25, 1.1] as const;
const RHO_G = WATER_DENSITY * GRAVITY;

export class Plant {
  readonly layout: Layout;
  readonly conditions: Conditions;
  readonly pressurePa: Float64Array;
  readonly filled: Float64Array;
  readonly speedRatio: Float64Array;
  readonly pumpFlowM3s: Float64Array;
  readonly suctionPa: Float64Array;
  readonly volumeM3: Float64Array;
  readonly fuelM3: Float64Array;
  readonly headFlowM3s: Float64Array;
  holeFlowM3s = 0;
  readonly shocks: Shocks;
  readonly #truth: TrueLay;
  readonly #governed: Float64Array;
  readonly #flow: Float64Array;
  readonly #feederFlow: Float64Array;
  /** What friction is reckoned by: hoses, feeders, suction hoses. */
  readonly #rubbing: readonly [Float64Array, Float64Array, Float64Array];
  readonly #hoseResistance: Float64Array;
  readonly #feederResistance: Float64Array;
  readonly #suctionResistance: Float64Array;
  readonly #stretch: Float64Array;
  readonly #wet: Uint8Array;
  readonly #place: ReadonlyMap<string, number>;

  constructor(layout: Layout, seed: number) {
    this.layout = layout;
    this.#truth = trueLay(layout, seed);
    const { places, hoses, heads, pumps, sources } = layout;
    this.#place = new Map(places.map((place, index) => [place.id, index]));
    this.conditions = healthy(layout);
    this.shocks = new Shocks(layout);
    this.pressurePa = new Float64Array(places.length);
    this.filled = new Float64Array(hoses.length);
    this.speedRatio = new Float64Array(pumps.length);
    this.pumpFlowM3s = new Float64Array(pumps.length);
    this.suctionPa = new Float64Array(pumps.length);
    this.volumeM3 = Float64Array.from(sources, (source) =>
      source.shape.kind === 'open-water' ? Infinity : 0.9 * sourceVolume(source.shape, depthOf(source.shape)),
    );
    this.fuelM3 = Float64Array.from(pumps, (pump) => 0.95 * pump.fuelCapacityM3);
    this.headFlowM3s = new Float64Array(heads.length);
    this.#governed = new Float64Array(pumps.length).fill(1);
    this.#flow = new Float64Array(hoses.length).fill(1e-4);
    this.#feederFlow = new Float64Array(heads.length).fill(1e-4);
    this.#rubbing = [
      Float64Array.from(this.#flow),
      Float64Array.from(this.#feederFlow),
      new Float64Array(pumps.length).fill(1e-4),
    ];
    this.#hoseResistance = new Float64Array(hoses.length);
    this.#feederResistance = new Float64Array(heads.length);
    this.#suctionResistance = new Float64Array(pumps.length);
    this.#wet = new Uint8Array(places.length);
    this.#stretch = new Float64Array(places.length).fill(1e-12);
    for (const hose of this.#truth.hoses) {
      for (const end of [hose.from, hose.to]) this.#stretch[end]! += 0.5 * volumeOf(hose) * STRETCH_PER_PA;
    }
  }

  /** Starts in the middle of a run: hoses full, pump at its throttle. */
  prime(throttle: number): void {
    this.filled.fill(1);
    this.#wet.fill(1);
    this.conditions.throttle.fill(throttle);
    this.speedRatio.fill(throttle);
    for (let second = 0; second < 90; second += 1) this.advance(1);
    this.shocks.calm();
  }

  levelM(source: number): number {
    const { shape } = this.layout.sources[source]!;
    return shape.kind === 'open-water' ? -this.conditions.sourceDropM[source]! : depthAt(shape, this.volumeM3[source]!);
  }

  advance(seconds: number): void {
    for (let left = seconds; left > 1e-9; left -= STEP_S) this.#step(Math.min(STEP_S, left));
  }

  #step(dt: number): void {
    this.#turnEngines(dt);
    this.#spreadWet();
    this.#rub();
    this.#solve(dt);
    this.#settleVolumes(dt);
    this.shocks.step(this.#flow, dt);
  }

  #turnEngines(dt: number): void {
    this.layout.pumps.forEach((pump, index) => {
      const { throttle, engineShare } = this.conditions;
      const asked = pump.kit.control === 'governor' ? this.#govern(index, dt) : throttle[index]!;
      const target = this.fuelM3[index]! > 0 ? asked * engineShare[index]! : 0;
      this.speedRatio[index]! += (target - this.speedRatio[index]!) * (1 - Math.exp(-dt / ENGINE_LAG_S));
      if (target === 0 && this.speedRatio[index]! < 0.01) this.speedRatio[index] = 0;
      const burn = pump.kit.fuelUseM3s * Math.max(0.2, this.speedRatio[index]! ** 3);
      if (this.speedRatio[index]! > 0) this.fuelM3[index] = Math.max(0, this.fuelM3[index]! - burn * dt);
      if (this.speedRatio[index]! > 0.05) this.#wet[this.#place.get(pump.outlet)!] = 1;
    });
  }

  /** Speed that a governed engine goes for: it closes in on the pressure that the throttle stands for. */
  #govern(index: number, dt: number): number {
    const pump = this.layout.pumps[index]!;
    const throttle = this.conditions.throttle[index]!;
    if (throttle <= 0) return 0;
    const wanted = GOVERNED_SHARE * throttle * pump.kit.curveRisePa[0]!;
    const short = (wanted - this.pressurePa[this.#place.get(pump.outlet)!]!) / wanted;
    const [least, most] = GOVERNOR_LIMITS;
    this.#governed[index] = Math.min(
      most,
      Math.max(least, this.#governed[index]! + GOVERNOR_PER_S * Math.max(-1, Math.min(1, short)) * dt),
    );
    return this.#governed[index]!;
  }

  #opening(gate: number): number {
    return (1 - this.conditions.allShut[0]!) * this.conditions.gateOpening[gate]!;
  }

  #spreadWet(): void {
    this.#truth.hoses.forEach((hose, index) => {
      if (this.filled[index]! >= 1 && (this.#wet[hose.from] || this.#wet[hose.to]))
        this.#wet[hose.from] = this.#wet[hose.to] = 1;
    });
    this.layout.gates.forEach((gate, index) => {
      const from = this.#place.get(gate.from)!;
      const to = this.#place.get(gate.to)!;
      if (this.#opening(index) > 0 && (this.#wet[from] || this.#wet[to])) this.#wet[from] = this.#wet[to] = 1;
    });
  }

  #rub(): void {
    const [hoses, feeders, suctions] = this.#rubbing;
    const { hoseFactor, feederFactor, suctionFactor } = this.conditions;
    this.#truth.hoses.forEach(({ boreM, lengthM, roughnessM, lossFactor }, index) => {
      hoses[index]! += 0.5 * (this.#flow[index]! - hoses[index]!);
      this.#hoseResistance[index] =
        hoseFactor[index]! * hoseResistance(boreM, lengthM, roughnessM, lossFactor, hoses[index]!);
    });
    this.#truth.heads.forEach(({ feeder: { boreM, lengthM, roughnessM, lossFactor } }, index) => {
      feeders[index]! += 0.5 * (this.#feederFlow[index]! - feeders[index]!);
      this.#feederResistance[index] =
        feederFactor[index]! * hoseResistance(boreM, lengthM, roughnessM, lossFactor, feeders[index]!);
    });
    this.layout.pumps.forEach((pump, index) => {
      suctions[index]! += 0.5 * (Math.max(this.pumpFlowM3s[index]!, 1e-4) - suctions[index]!);
      this.#suctionResistance[index] =
        suctionFactor[index]! *
        hoseResistance(pump.suctionHose.boreM, pump.suctionLengthM, 1e-4, pump.suctionLossFactor, suctions[index]!);
    });
  }

  #solve(dt: number): void {
    const size = this.pressurePa.length;
    const before = Float64Array.from(this.pressurePa);
    const matrix = new Float64Array(size * size);
    const right = new Float64Array(size);
    for (let round = 0; round < NEWTON_ROUNDS; round += 1) {
      matrix.fill(0);
      for (let node = 0; node < size; node += 1) {
        const stretch = this.#wet[node] ? this.#stretch[node]! / dt : 1;
        matrix[node * size + node] = stretch;
        right[node] = this.#wet[node] ? -stretch * (this.pressurePa[node]! - before[node]!) : -this.pressurePa[node]!;
      }
      this.#addLinks(matrix, right, size);
      this.#addOutflows(matrix, right, size);
      this.#addPumps(matrix, right, size);
      eliminate(matrix, right, size);
      let most = 0;
      for (let node = 0; node < size; node += 1) {
        const move = (round < FULL_ROUNDS ? 1 : 0.5) * Math.max(-2e5, Math.min(2e5, right[node]!));
        this.pressurePa[node]! += move;
        most = Math.max(most, Math.abs(move));
      }
      if (most < 1) return;
    }
  }

  #link(from: number, to: number, resistance: number, matrix: Float64Array, right: Float64Array, size: number): number {
    const lift = RHO_G * (this.#truth.heightsM[to]! - this.#truth.heightsM[from]!);
    const { flow, slope } = driven(this.pressurePa[from]! - this.pressurePa[to]! - lift, resistance);
    right[from]! -= flow;
    right[to]! += flow;
    matrix[from * size + from]! += slope;
    matrix[to * size + to]! += slope;
    matrix[from * size + to]! -= slope;
    matrix[to * size + from]! -= slope;
    return flow;
  }

  #addLinks(matrix: Float64Array, right: Float64Array, size: number): void {
    this.#truth.hoses.forEach((hose, index) => {
      if (!this.#wet[hose.from] && !this.#wet[hose.to]) return;
      const resistance = this.#hoseResistance[index]!;
      if (this.filled[index]! >= 1) {
        this.#flow[index] = this.#link(hose.from, hose.to, resistance, matrix, right, size);
        return;
      }
      // A front that fills: the wet end sees the resistance of what is already full, and air in front of it.
      let into = 0;
      for (const end of [hose.from, hose.to]) {
        if (!this.#wet[end]) continue;
        const { flow, slope } = driven(
          Math.max(0, this.pressurePa[end]!),
          resistance * Math.max(0.05, this.filled[index]!),
        );
        right[end]! -= flow;
        matrix[end * size + end]! += slope;
        into += flow;
      }
      this.#flow[index] = into;
    });
    this.layout.gates.forEach((gate, index) => {
      const opening = this.#opening(index);
      const from = this.#place.get(gate.from)!;
      const to = this.#place.get(gate.to)!;
      if (!(opening > 0) || !this.#wet[from] || !this.#wet[to]) return;
      const area = (Math.PI / 4) * gate.boreM ** 2;
      this.#link(
        from,
        to,
        (gate.openLossFactor + 0.1) * (WATER_DENSITY / 2 / area ** 2) * opening ** -2.5,
        matrix,
        right,
        size,
      );
    });
  }

  #addOutflows(matrix: Float64Array, right: Float64Array, size: number): void {
    this.#truth.heads.forEach((head, index) => {
      const { headOff, headTaken, headShare, headDropM } = this.conditions;
      const loose = headOff[index]!;
      const area = headTaken[index] ? 0 : loose * head.openAreaM2 + (1 - loose) * head.areaM2 * headShare[index]!;
      const drive = this.pressurePa[head.at]! - RHO_G * (head.riseM - headDropM[index]!);
      if (!this.#wet[head.at] || drive <= 0 || area < 1e-9) {
        this.headFlowM3s[index] = 0;
        return;
      }
      const resistance = WATER_DENSITY / 2 / area ** 2 + this.#feederResistance[index]!;
      const { flow, slope } = driven(drive, resistance);
      this.headFlowM3s[index] = flow;
      this.#feederFlow[index] = Math.max(flow, 1e-6);
      right[head.at]! -= flow;
      matrix[head.at * size + head.at]! += slope;
    });
    this.holeFlowM3s = 0;
    this.conditions.holeM2.forEach((hole, node) => {
      const area = hole + this.conditions.burstM2[node]!;
      if (area <= 0 || !this.#wet[node] || this.pressurePa[node]! <= 0) return;
      const { flow, slope } = driven(this.pressurePa[node]!, WATER_DENSITY / 2 / area ** 2);
      this.holeFlowM3s += flow;
      right[node]! -= flow;
      matrix[node * size + node]! += slope;
    });
  }

  #addPumps(matrix: Float64Array, right: Float64Array, size: number): void {
    this.layout.pumps.forEach((pump, index) => {
      const outlet = this.#place.get(pump.outlet)!;
      if (this.speedRatio[index]! < PASSIVE_SPEED) return this.#addPassage(index, outlet, matrix, right, size);
      const lift = this.#liftM(index);
      const head = (flow: number): number => this.#outletPa(index, flow, lift);
      const target = this.pressurePa[outlet]!;
      let flow = 0;
      if (head(0) > target) {
        let low = 0;
        let high = 2 * pump.kit.curveFlowM3s.at(-1)!;
        for (let round = 0; round < 40; round += 1) {
          const middle = (low + high) / 2;
          if (head(middle) > target) low = middle;
          else high = middle;
        }
        flow = (low + high) / 2;
      }
      this.pumpFlowM3s[index] = flow;
      this.suctionPa[index] = this.#suctionPa(index, flow);
      const nudge = 1e-6;
      const slope = flow > 0 ? nudge / Math.max(1e-3, head(flow) - head(flow + nudge)) : 0;
      right[outlet]! += flow;
      matrix[outlet * size + outlet]! += slope;
    });
  }

  /** A pump that stands still: a siphon forwards, a drain backwards unless its valve holds. */
  #addPassage(index: number, outlet: number, matrix: Float64Array, right: Float64Array, size: number): void {
    const pump = this.layout.pumps[index]!;
    const { boreM } = pump.suctionHose;
    this.suctionPa[index] = RHO_G * this.#liftM(index) * (1 - this.conditions.suctionAir[index]!);
    this.pumpFlowM3s[index] = 0;
    if (!this.#wet[outlet] || this.volumeM3[this.#sourceOf(index)]! <= this.#unusableM3(this.#sourceOf(index))) return;
    const drive =
      this.suctionPa[index]! - RHO_G * (this.#truth.heightsM[outlet]! - pump.elevationM) - this.pressurePa[outlet]!;
    const holds = pump.checkValve && !this.conditions.valveStuck[index];
    if (drive < 0 && holds) return;
    const { flow, slope } = driven(
      drive,
      hoseResistance(boreM, pump.suctionLengthM, 1e-4, pump.suctionLossFactor + PASSAGE_LOSS, 1e-3),
    );
    this.pumpFlowM3s[index] = flow;
    right[outlet]! += flow;
    matrix[outlet * size + outlet]! += slope;
  }

  #sourceOf(index: number): number {
    const { source } = this.layout.pumps[index]!;
    return this.layout.sources.findIndex((candidate) => candidate.id === source);
  }

  /** Water surface above the pump's eye. */
  #liftM(index: number): number {
    const source = this.#sourceOf(index);
    return this.layout.sources[source]!.elevationM + this.levelM(source) - this.layout.pumps[index]!.elevationM;
  }

  #suctionPa(index: number, flow: number, lift = this.#liftM(index)): number {
    return RHO_G * lift * (1 - this.conditions.suctionAir[index]!) - this.#suctionResistance[index]! * flow ** 2;
  }

  #outletPa(index: number, flow: number, lift: number): number {
    const pump = this.layout.pumps[index]!;
    const speed = this.speedRatio[index]!;
    const source = this.#sourceOf(index);
    const suction = this.#suctionPa(index, flow, lift);
    const column = Math.max(0, Math.min(1, (suction - CAVITATION_PA) / CAVITATION_WIDTH_PA));
    const primed =
      this.volumeM3[source]! > this.#unusableM3(source) ? column * (1 - this.conditions.suctionAir[index]!) ** 2 : 0;
    if (speed <= 0 || primed <= 0) return -1e6;
    const rise = curveAt(pump.kit.curveFlowM3s, pump.kit.curveRisePa, flow / speed) * speed ** 2;
    const outletM = this.#truth.heightsM[this.#place.get(pump.outlet)!]!;
    return (
      suction +
      rise * this.#truth.pumpFactor[index]! * this.conditions.curveShare[index]! * primed -
      RHO_G * (outletM - pump.elevationM)
    );
  }

  /** What the strainer cannot reach. */
  #unusableM3(index: number): number {
    const { shape, usable } = this.layout.sources[index]!;
    return shape.kind === 'open-water' ? 0 : (1 - usable) * sourceVolume(shape, depthOf(shape));
  }

  #settleVolumes(dt: number): void {
    this.#truth.hoses.forEach((hose, index) => {
      // The first flow of a dry hose is only a guess for its friction: no water has reached it.
      const reached = this.#wet[hose.from] || this.#wet[hose.to];
      if (this.filled[index]! < 1 && reached)
        this.filled[index] = Math.min(1, this.filled[index]! + (Math.max(0, this.#flow[index]!) * dt) / volumeOf(hose));
    });
    this.layout.sources.forEach((source, index) => {
      if (source.shape.kind === 'open-water') return;
      const drawn = this.layout.pumps.reduce(
        (sum, pump, at) => sum + (pump.source === source.id ? this.pumpFlowM3s[at]! : 0),
        0,
      );
      const full = sourceVolume(source.shape, depthOf(source.shape));
      const { refillHeld, sourceGainM3s, sourceLeakM3s } = this.conditions;
      const gained = refillHeld[index] ? 0 : sourceGainM3s[index]!;
      this.volumeM3[index] = Math.min(
        full,
        Math.max(0, this.volumeM3[index]! + (gained - sourceLeakM3s[index]! - drawn) * dt),
      );
    });
  }
}

function volumeOf(hose: TrueHose): number {
  return (Math.PI / 4) * hose.boreM ** 2 * hose.lengthM;
}
