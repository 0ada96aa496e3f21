/**
 * What a network is made of, before it is put together: junctions, sources, hoses, gates, pumps and outlets to air.
 *
 * In SI (m, m3/s, Pa). The ends of a part are numbers: a junction >= 0, or a source as `sourceEnd(i)`. Layouts come
 * here through network.ts; textbook networks with fixed demands are written down as parts directly.
 */
import type { FrictionLaw } from '../../../config/kit/kit.ts';
import type { PumpCurve } from './pump-curve.ts';

export interface JunctionPart {
  readonly name: string;
  readonly elevationM: number;
  readonly demandM3s?: number;
}
/** Elevation of the floor: the settings add the depth of water. */
interface SourcePart {
  readonly name: string;
  readonly elevationM: number;
}
export interface PipePart {
  readonly name: string;
  readonly from: number;
  readonly to: number;
  readonly friction: FrictionLaw;
  readonly boreM: number;
  readonly lengthM: number;
  readonly lossFactor: number;
  /** Lets water through from `from` to `to` only. */
  readonly oneWay?: boolean;
  /** Loss of what comes before it, Pa per (m3/s)^1.852: a hydrant's own. */
  readonly supplyLoss?: number;
}
interface GatePart {
  readonly name: string;
  readonly from: number;
  readonly to: number;
  readonly boreM: number;
  readonly openLossFactor: number;
}
export interface PumpPart {
  readonly name: string;
  readonly from: number;
  readonly to: number;
  readonly curve: PumpCurve;
  /** Height of the eye, where the suction pressure is measured. */
  readonly elevationM: number;
  readonly suction: Omit<PipePart, 'name' | 'from' | 'to' | 'oneWay'> | null;
}
export interface HeadPart {
  readonly name: string;
  readonly junction: number;
  readonly k: number;
  readonly exponent: number;
  /** K of the fitting when the head is gone, exponent 1/2. */
  readonly openK: number;
  /** A relief valve: gives nothing below this pressure, Pa, and from there as if it were nil. */
  readonly opensPa?: number;
}
export interface Parts {
  readonly junctions: readonly JunctionPart[];
  readonly sources: readonly SourcePart[];
  readonly pipes: readonly PipePart[];
  readonly gates: readonly GatePart[];
  readonly pumps: readonly PumpPart[];
  readonly heads: readonly HeadPart[];
  readonly viscosityM2s?: number;
}

export const sourceEnd = (source: number): number => -1 - source;

/** Throws RangeError that names the part: an end that is not there, a bore, length or K that cannot be. */
export function checkParts(parts: Parts): void {
  const isEnd = (end: number) => Number.isInteger(end) && end < parts.junctions.length && end >= -parts.sources.length;
  for (const link of [...parts.pipes, ...parts.gates, ...parts.pumps]) {
    if (!isEnd(link.from) || !isEnd(link.to)) throw new RangeError(`${link.name}: an end that does not exist`);
    if (link.from === link.to) throw new RangeError(`${link.name}: both ends at the same place`);
  }
  for (const pipe of parts.pipes) {
    if (!(pipe.boreM > 0 && pipe.lengthM >= 0 && pipe.lossFactor >= 0)) {
      throw new RangeError(`${pipe.name}: bore, length and loss factor must be positive`);
    }
  }
  for (const gate of parts.gates) {
    if (!(gate.boreM > 0 && gate.openLossFactor >= 0))
      throw new RangeError(`${gate.name}: bore and loss factor must be positive`);
  }
  for (const head of parts.heads) {
    if (!(head.k >= 0 && head.openK >= 0 && head.exponent > 0))
      throw new RangeError(`${head.name}: K and exponent must be positive`);
    if (!(head.junction >= 0 && isEnd(head.junction))) throw new RangeError(`${head.name}: sits nowhere`);
  }
}
