/**
 * The lay as it really lies: the layout file with another author's errors in it, drawn from a seed.
 *
 * Every hose's wall roughness and bore, head's orifice, height and pump curve differ from the file: roughness +-40 %
 * (about +-10 % of the loss), bore +-2 % (another +-10 %), orifice +-5 %, heights +-0.5 m, curve +-4 %, all uniform.
 * Friction is Darcy-Weisbach on the hose's own roughness, whatever law the kit names.
 */
import type { Head, Layout } from '../config/layout/layout.ts';
import { SeededRandom } from './seeded-random.ts';

export interface TrueHose {
  readonly id: string;
  readonly from: number;
  readonly to: number;
  readonly boreM: number;
  readonly lengthM: number;
  readonly roughnessM: number;
  readonly lossFactor: number;
}

export interface TrueHead {
  readonly id: string;
  readonly at: number;
  readonly riseM: number;
  /** Effective area of the orifice(s), Cd A, m2. */
  readonly areaM2: number;
  readonly openAreaM2: number;
  readonly feeder: TrueHose;
}

export interface TrueLay {
  readonly heightsM: readonly number[];
  readonly hoses: readonly TrueHose[];
  readonly heads: readonly TrueHead[];
  readonly pumpFactor: readonly number[];
}

/** Rubber lining, as laid; from memory, no unbranded source. */
const ROUGHNESS_M = 3e-5;
const WATER_DENSITY = 1_000;

export function trueLay(layout: Layout, seed: number): TrueLay {
  const place = new Map(layout.places.map((at, index) => [at.id, index]));
  const hose = (id: string, from: number, to: number, boreM: number, lengthM: number, lossFactor: number): TrueHose => {
    const dice = SeededRandom.named(seed, `hose ${id}`);
    return {
      id,
      from,
      to,
      lengthM,
      lossFactor,
      boreM: boreM * dice.between(0.98, 1.02),
      roughnessM: ROUGHNESS_M * dice.between(0.5, 1.7),
    };
  };
  return {
    heightsM: layout.places.map((at) => at.elevationM + SeededRandom.named(seed, `height ${at.id}`).between(-0.5, 0.5)),
    hoses: layout.hoses.map((one) =>
      hose(one.id, place.get(one.from)!, place.get(one.to)!, one.kit.boreM, one.lengthM, one.fittingLossFactor),
    ),
    heads: layout.heads.map((head) => trueHead(layout, head, place.get(head.at)!, seed, hose)),
    pumpFactor: layout.pumps.map((pump) => SeededRandom.named(seed, `pump ${pump.id}`).between(0.96, 1.04)),
  };
}

function trueHead(
  layout: Layout,
  head: Head,
  at: number,
  seed: number,
  hose: (id: string, from: number, to: number, boreM: number, lengthM: number, loss: number) => TrueHose,
): TrueHead {
  const dice = SeededRandom.named(seed, `head ${head.id}`);
  // The catalogue point at the middle of the turning range, as an orifice of its own: q = Cd A sqrt(2 p / rho).
  const pressure = (head.kit.turnPaMin + head.kit.turnPaMax) / 2;
  const area = (head.kit.k * pressure ** head.kit.exponent) / Math.sqrt((2 * pressure) / WATER_DENSITY);
  return {
    id: head.id,
    at,
    riseM: head.elevationM - layout.places[at]!.elevationM + dice.between(-0.1, 0.1),
    areaM2: area * dice.between(0.95, 1.05),
    openAreaM2: head.kit.openDischargeCoefficient * (Math.PI / 4) * head.kit.openBoreM ** 2 * dice.between(0.92, 1.08),
    feeder: hose(`feeder ${head.id}`, at, -1, head.feeder.boreM, head.feederLengthM, 0),
  };
}
