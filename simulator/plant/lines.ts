/**
 * Hoses and gates: what flows through them, and how they fill. A hose carries water through only once it is full; until
 * then its wet end feeds the front.
 *
 * In: pressures of the water balance, openings. Out: m3/s by hose, filled shares.
 */
import type { Layout } from '../../config/layout/layout.ts';
import type { Conditions } from '../conditions.ts';
import { driven, WATER_DENSITY } from '../flow-law.ts';
import type { TrueHose } from '../truth.ts';
import { Friction } from './friction.ts';
import { volumeOf, type WaterBalance } from './water-balance.ts';

export class Lines {
  readonly filled: Float64Array;
  readonly flowM3s: Float64Array;
  readonly #hoses: readonly TrueHose[];
  readonly #gates: readonly { readonly from: number; readonly to: number; readonly gate: Layout['gates'][number] }[];
  readonly #conditions: Conditions;
  readonly #balance: WaterBalance;
  readonly #friction: Friction;

  constructor(
    hoses: readonly TrueHose[],
    { gates }: Layout,
    placeOf: (id: string) => number,
    conditions: Conditions,
    balance: WaterBalance,
  ) {
    this.#hoses = hoses;
    this.#gates = gates.map((gate) => ({ gate, from: placeOf(gate.from), to: placeOf(gate.to) }));
    this.#conditions = conditions;
    this.#balance = balance;
    this.filled = new Float64Array(hoses.length);
    this.flowM3s = new Float64Array(hoses.length).fill(1e-4);
    this.#friction = new Friction(hoses);
  }

  #opening(gate: number): number {
    return (1 - this.#conditions.allShut[0]!) * this.#conditions.gateOpening[gate]!;
  }

  spreadWet(): void {
    const { wet } = this.#balance;
    this.#hoses.forEach((hose, index) => {
      if (this.filled[index]! >= 1 && (wet[hose.from] || wet[hose.to])) wet[hose.from] = wet[hose.to] = 1;
    });
    this.#gates.forEach(({ from, to }, index) => {
      if (this.#opening(index) > 0 && (wet[from] || wet[to])) wet[from] = wet[to] = 1;
    });
  }

  rub(): void {
    this.#friction.follow(this.flowM3s, this.#conditions.hoseFactor);
  }

  add(): void {
    const { wet, pressurePa } = this.#balance;
    this.#hoses.forEach((hose, index) => {
      if (!wet[hose.from] && !wet[hose.to]) return;
      const resistance = this.#friction.resistance[index]!;
      if (this.filled[index]! >= 1) {
        this.flowM3s[index] = this.#balance.link(hose.from, hose.to, resistance);
        return;
      }
      // A front that fills: the wet end sees the resistance of what is already full, and air in front of it.
      let into = 0;
      for (const end of [hose.from, hose.to]) {
        if (!wet[end]) continue;
        const { flow, slope } = driven(Math.max(0, pressurePa[end]!), resistance * Math.max(0.05, this.filled[index]!));
        this.#balance.gains(end, -flow, slope);
        into += flow;
      }
      this.flowM3s[index] = into;
    });
    this.#gates.forEach(({ from, to, gate }, index) => {
      const opening = this.#opening(index);
      if (!(opening > 0) || !wet[from] || !wet[to]) return;
      const area = (Math.PI / 4) * gate.boreM ** 2;
      this.#balance.link(from, to, (gate.openLossFactor + 0.1) * (WATER_DENSITY / 2 / area ** 2) * opening ** -2.5);
    });
  }

  fill(dt: number): void {
    const { wet } = this.#balance;
    this.#hoses.forEach((hose, index) => {
      // The first flow of a dry hose is only a guess for its friction: no water has reached it.
      const reached = wet[hose.from] || wet[hose.to];
      if (this.filled[index]! < 1 && reached)
        this.filled[index] = Math.min(
          1,
          this.filled[index]! + (Math.max(0, this.flowM3s[index]!) * dt) / volumeOf(hose),
        );
    });
  }
}
