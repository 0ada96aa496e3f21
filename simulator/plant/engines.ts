/**
 * The engines: how fast each turns, and what is left of its fuel.
 *
 * In: throttle and what is wrong with the engine (conditions), discharge pressure for a governed one, seconds. Out:
 * speed over rated, m3 of fuel.
 */
import type { Layout, Pump } from '../../config/layout/layout.ts';
import type { Conditions } from '../conditions.ts';

const ENGINE_LAG_S = 2;
/** A governor: share of the shut-off rise it holds at full throttle, and how fast it moves the speed. Assumptions. */
const GOVERNED_SHARE = 0.6;
const GOVERNOR_PER_S = 0.4;
const GOVERNOR_LIMITS = [0.25, 1.1] as const;

export class Engines {
  readonly speedRatio: Float64Array;
  readonly fuelM3: Float64Array;
  readonly #pumps: Layout['pumps'];
  readonly #conditions: Conditions;
  /** Speed that each governor asks for. */
  readonly #governed: Float64Array;

  constructor({ pumps }: Layout, conditions: Conditions) {
    this.#pumps = pumps;
    this.#conditions = conditions;
    this.speedRatio = new Float64Array(pumps.length);
    this.fuelM3 = Float64Array.from(pumps, (pump) => 0.95 * pump.fuelCapacityM3);
    this.#governed = new Float64Array(pumps.length).fill(1);
  }

  /** `dischargePa`: of a pump's outlet. */
  turn(dt: number, dischargePa: (pump: Pump) => number): void {
    this.#pumps.forEach((pump, index) => {
      const { throttle, engineShare } = this.#conditions;
      const asked = pump.kit.control === 'governor' ? this.#govern(index, dischargePa(pump), dt) : throttle[index]!;
      const target = this.fuelM3[index]! > 0 ? asked * engineShare[index]! : 0;
      this.speedRatio[index]! += (target - this.speedRatio[index]!) * (1 - Math.exp(-dt / ENGINE_LAG_S));
      if (target === 0 && this.speedRatio[index]! < 0.01) this.speedRatio[index] = 0;
      const burn = pump.kit.fuelUseM3s * Math.max(0.2, this.speedRatio[index]! ** 3);
      if (this.speedRatio[index]! > 0) this.fuelM3[index] = Math.max(0, this.fuelM3[index]! - burn * dt);
    });
  }

  /** Speed that a governed engine goes for: it closes in on the pressure that the throttle stands for. */
  #govern(index: number, dischargePa: number, dt: number): number {
    const throttle = this.#conditions.throttle[index]!;
    if (throttle <= 0) return 0;
    const wanted = GOVERNED_SHARE * throttle * this.#pumps[index]!.kit.curveRisePa[0]!;
    const short = (wanted - dischargePa) / wanted;
    const [least, most] = GOVERNOR_LIMITS;
    this.#governed[index] = Math.min(
      most,
      Math.max(least, this.#governed[index]! + GOVERNOR_PER_S * Math.max(-1, Math.min(1, short)) * dt),
    );
    return this.#governed[index]!;
  }
}
