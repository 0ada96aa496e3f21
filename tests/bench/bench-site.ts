/**
 * A looped site of any size for measuring: a ring of trunk hose with lines of five heads, each behind its feeder,
 * and cross hoses so that every third line closes a loop.
 */
import { sourceEnd } from '../../gateway/core/hydraulics/parts.ts';
import type { HeadPart, JunctionPart, Parts, PipePart } from '../../gateway/core/hydraulics/parts.ts';
import { PA_PER_M } from '../../gateway/core/hydraulics/constants.ts';
import { openingK } from '../../gateway/core/hydraulics/nozzle.ts';
import { fitPumpCurve } from '../../gateway/core/hydraulics/pump-curve.ts';

const HEADS_A_LINE = 5;

export function loopedSite(headCount: number): Parts {
  const lines = Math.max(1, Math.round(headCount / HEADS_A_LINE));
  const junctions: JunctionPart[] = [];
  const pipes: PipePart[] = [];
  const heads: HeadPart[] = [];
  const junction = (elevationM: number) => junctions.push({ name: `J${junctions.length}`, elevationM }) - 1;
  const hose = (from: number, to: number, boreM: number, lengthM: number) =>
    pipes.push({
      name: `P${pipes.length}`,
      from,
      to,
      boreM,
      lengthM,
      lossFactor: 0.5,
      friction: { law: 'hazen-williams', c: 140 },
    });

  // Judgement: the trunk is as wide as its flow needs, so that large sites work at the same pressures as small ones.
  const trunkBoreM = 0.066 * Math.max(1, (headCount / 60) ** 0.45);
  const trunk = Array.from({ length: lines }, (_, i) => junction(4 * Math.sin(i)));
  trunk.forEach((at, i) => hose(at, trunk[(i + 1) % lines]!, trunkBoreM, 20));
  const ends = trunk.map((start, line) => {
    let at = start;
    for (let i = 0; i < HEADS_A_LINE; i++) {
      const next = junction(4 * Math.sin(line) + 0.3 * i);
      hose(at, next, 0.0415, 12);
      const nozzle = junction(4 * Math.sin(line) + 3);
      hose(next, nozzle, 0.0197, 4);
      heads.push({
        name: `H${heads.length}`,
        junction: nozzle,
        k: openingK(0.004, 0.965),
        exponent: 0.5,
        openK: openingK(0.016, 0.8),
      });
      at = next;
    }
    return at;
  });
  for (let line = 0; line + 1 < lines; line += 3) hose(ends[line]!, ends[line + 1]!, 0.0293, 25);
  const runOutM3s = headCount * 6e-4;
  return {
    junctions,
    pipes,
    heads,
    gates: [],
    sources: [{ name: 'tank', elevationM: -2 }],
    pumps: [
      {
        name: 'pump',
        from: sourceEnd(0),
        to: trunk[0]!,
        elevationM: -1,
        suction: null,
        curve: fitPumpCurve(
          [0, 0.5 * runOutM3s, runOutM3s],
          [100, 80, 35].map((m) => m * PA_PER_M),
        ),
      },
    ],
  };
}
