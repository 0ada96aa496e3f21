/**
 * Random sprinkler networks for property tests and for the comparison with another engine: same seed, same network.
 *
 * Trees with no loop to many, pumped sources and now and then a gravity tank, steep ground, gates of which some are
 * shut, heads behind feeders, here and there a leak, a kink, a plug or a head that came off; all of it in sizes that a
 * crew could rig.
 */
import type { FrictionLaw } from '../../config/kit/kit.ts';
import { assembleNetwork } from '../../gateway/core/hydraulics/assemble.ts';
import { sourceEnd } from '../../gateway/core/hydraulics/parts.ts';
import type { Assembly } from '../../gateway/core/hydraulics/assembly.ts';
import type { Parts, PipePart } from '../../gateway/core/hydraulics/parts.ts';
import { PA_PER_M } from '../../gateway/core/hydraulics/constants.ts';
import { openingK } from '../../gateway/core/hydraulics/nozzle.ts';
import { fitPumpCurve } from '../../gateway/core/hydraulics/pump-curve.ts';
import type { PumpCurve } from '../../gateway/core/hydraulics/pump-curve.ts';
import { nothingWrong } from '../../gateway/core/hydraulics/settings.ts';
import type { Settings } from '../../gateway/core/hydraulics/settings.ts';

export interface RandomNetwork {
  readonly parts: Parts;
  readonly net: Assembly;
  readonly settings: Settings;
}

export interface Wishes {
  readonly junctions: number;
  readonly friction: FrictionLaw['law'] | 'any';
}

export class SeededRandom {
  #state: number;
  constructor(seed: number) {
    this.#state = seed >>> 0;
  }
  /** Uniform in [0, 1): mulberry32. */
  next(): number {
    this.#state = (this.#state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(this.#state ^ (this.#state >>> 15), this.#state | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  }
  between(low: number, high: number): number {
    return low + (high - low) * this.next();
  }
  whole(low: number, high: number): number {
    return Math.floor(this.between(low, high + 1));
  }
  chance(share: number): boolean {
    return this.next() < share;
  }
  oneOf<T>(choices: readonly T[]): T {
    return choices[this.whole(0, choices.length - 1)]!;
  }
}

type Growing = { -readonly [K in keyof Omit<Parts, 'viscosityM2s'>]: Parts[K][number][] };

/** Effective bores of the usual hoses, 19 to 65 mm. */
const BORES_M = [0.0197, 0.0293, 0.0415, 0.0663] as const;

export function randomNetwork(seed: number, wishes: Wishes): RandomNetwork {
  const dice = new SeededRandom(seed);
  const parts: Growing = { junctions: [], sources: [], pipes: [], gates: [], pumps: [], heads: [] };
  growLay(dice, wishes, parts);
  growLoops(dice, wishes, parts);
  const nozzleArea = growHeads(dice, wishes, parts);
  growSupplies(dice, wishes, parts, nozzleArea);
  const net = assembleNetwork(parts);
  const settings = nothingWrong(net);
  settings.gateOpening.forEach((_, i) => (settings.gateOpening[i] = dice.chance(0.12) ? 0 : dice.between(0.2, 1)));
  settings.pumpSpeed.forEach((_, i) => (settings.pumpSpeed[i] = dice.oneOf([1, dice.between(0.7, 1.05)])));
  settings.hoseFactor.forEach((_, i) => (settings.hoseFactor[i] = dice.chance(0.05) ? 5 : dice.between(0.8, 1.25)));
  settings.headFactor.forEach((_, i) => (settings.headFactor[i] = dice.oneOf([1, 1, dice.between(0.2, 1)])));
  settings.headOff.forEach((_, i) => (settings.headOff[i] = dice.chance(0.02) ? 1 : 0));
  settings.leakK.forEach(
    (_, i) => (settings.leakK[i] = dice.chance(0.01) ? openingK(dice.between(0.001, 0.006), 0.7) : 0),
  );
  return { parts, net, settings };
}

function friction(dice: SeededRandom, wishes: Wishes): FrictionLaw {
  const law =
    wishes.friction === 'any'
      ? dice.oneOf(['hazen-williams', 'coefficient', 'darcy-weisbach'] as const)
      : wishes.friction;
  if (law === 'hazen-williams') return { law, c: dice.between(110, 150) };
  return law === 'coefficient'
    ? { law, c: 10 ** dice.between(0, 2.5) }
    : { law, roughnessM: 10 ** dice.between(-6, -4) };
}

function hose(
  dice: SeededRandom,
  wishes: Wishes,
  link: Pick<PipePart, 'name' | 'from' | 'to' | 'lengthM' | 'boreM'>,
): PipePart {
  return { ...link, friction: friction(dice, wishes), lossFactor: dice.chance(0.5) ? dice.between(0, 3) : 0 };
}

function growLay(dice: SeededRandom, wishes: Wishes, parts: Growing): void {
  const steepness = dice.between(0, 0.4);
  // Judgement: the trunk grows with the lay, so that its far end still has some pressure.
  const trunkBoreM = BORES_M[3] * Math.max(1, (wishes.junctions / 60) ** 0.4);
  parts.junctions.push({ name: 'J0', elevationM: dice.between(0, 5) });
  for (let i = 1; i < wishes.junctions; i++) {
    const parent = dice.chance(0.6) ? i - 1 : dice.whole(Math.max(0, i - 12), i - 1);
    const below = parts.junctions[parent]!.elevationM;
    const ends = { from: parent, to: i };
    if (dice.chance(0.1)) {
      parts.junctions.push({ name: `J${i}`, elevationM: below });
      parts.gates.push({
        name: `G${i}`,
        ...ends,
        boreM: dice.oneOf([0.038, 0.065]),
        openLossFactor: dice.between(0.2, 5),
      });
    } else {
      const lengthM = dice.between(5, 60);
      parts.junctions.push({ name: `J${i}`, elevationM: below + lengthM * steepness * dice.between(-0.8, 1) });
      const boreM = dice.oneOf([trunkBoreM, BORES_M[1], BORES_M[2], BORES_M[3]]);
      parts.pipes.push(hose(dice, wishes, { name: `P${i}`, ...ends, boreM, lengthM }));
    }
  }
}

function growLoops(dice: SeededRandom, wishes: Wishes, parts: Growing): void {
  const last = wishes.junctions - 1;
  const count = dice.chance(0.4) ? 0 : dice.whole(1, Math.ceil(last / 6));
  for (let i = 0; i < count; i++) {
    const from = dice.whole(0, last);
    const to = dice.whole(Math.max(0, from - 15), Math.min(last, from + 15));
    if (from === to) continue;
    const boreM = dice.oneOf(BORES_M.slice(1));
    parts.pipes.push(hose(dice, wishes, { name: `L${i}`, from, to, boreM, lengthM: dice.between(10, 60) }));
  }
}

/** Returns the sum of the heads' K, which the pumps are sized by. */
function growHeads(dice: SeededRandom, wishes: Wishes, parts: Growing): number {
  const share = Math.min(0.5, 60 / wishes.junctions);
  let sum = 0;
  for (let i = 0; i < wishes.junctions; i++) {
    if (!dice.chance(share) && i !== wishes.junctions - 1) continue;
    const junction = parts.junctions.length;
    parts.junctions.push({ name: `N${i}`, elevationM: parts.junctions[i]!.elevationM + dice.between(0, 6) });
    const boreM = dice.oneOf([BORES_M[0], BORES_M[1]]);
    parts.pipes.push(hose(dice, wishes, { name: `F${i}`, from: i, to: junction, boreM, lengthM: dice.between(2, 20) }));
    const k = openingK(dice.between(0.0025, 0.0065), 0.965);
    const exponent = wishes.friction === 'any' ? dice.between(0.45, 0.6) : 0.5;
    parts.heads.push({
      name: `H${i}`,
      junction,
      k: k * 3e5 ** (0.5 - exponent),
      exponent,
      openK: openingK(0.016, 0.8),
    });
    sum += k;
  }
  return sum;
}

function growSupplies(dice: SeededRandom, wishes: Wishes, parts: Growing, sumOfK: number): void {
  const pumps = wishes.junctions < 20 ? 1 : dice.whole(1, 3);
  for (let i = 0; i < pumps; i++) {
    const to = i === 0 ? 0 : dice.whole(0, wishes.junctions - 1);
    const eyeM = parts.junctions[to]!.elevationM;
    parts.sources.push({ name: `S${i}`, elevationM: eyeM - dice.between(-1, 4) });
    const runOutM3s = ((sumOfK * Math.sqrt(6e5)) / pumps) * dice.between(0.7, 2);
    parts.pumps.push({
      name: `U${i}`,
      from: sourceEnd(i),
      to,
      elevationM: eyeM,
      curve: threePointCurve(dice, runOutM3s),
      suction: {
        friction: friction(dice, wishes),
        boreM: BORES_M[3] * Math.max(1, Math.sqrt(runOutM3s / 0.006)),
        lengthM: dice.between(3, 8),
        lossFactor: dice.between(2, 8),
      },
    });
  }
  if (!dice.chance(0.25)) return;
  const to = dice.whole(0, wishes.junctions - 1);
  parts.sources.push({ name: 'S9', elevationM: parts.junctions[to]!.elevationM + dice.between(5, 60) });
  parts.pipes.push(
    hose(dice, wishes, {
      name: 'P-tank',
      from: sourceEnd(pumps),
      to,
      boreM: BORES_M[2],
      lengthM: dice.between(10, 100),
    }),
  );
}

function threePointCurve(dice: SeededRandom, runOutM3s: number): PumpCurve {
  const shutOffPa = PA_PER_M * dice.between(60, 200);
  return fitPumpCurve(
    [0, 0.55 * runOutM3s, runOutM3s],
    [shutOffPa, shutOffPa * dice.between(0.75, 0.85), shutOffPa * dice.between(0.25, 0.5)],
  );
}
