/**
 * What every single link must hold to for the solver to be safe (calculus): its slope is the derivative of its loss,
 * the loss makes no step where one formula hands over to the next, and it grows with flow. At flows where a law is
 * published, tests/published holds it to figures.
 */
import { describe, expect, it } from 'vitest';
import { applySettings } from '../../gateway/core/hydraulics/apply-settings.ts';
import { assembleNetwork } from '../../gateway/core/hydraulics/assemble.ts';
import { linkLoss, suctionLoss } from '../../gateway/core/hydraulics/link-loss.ts';
import { sourceEnd } from '../../gateway/core/hydraulics/parts.ts';
import type { PipePart } from '../../gateway/core/hydraulics/parts.ts';
import { fitPumpCurve } from '../../gateway/core/hydraulics/pump-curve.ts';
import { nothingWrong } from '../../gateway/core/hydraulics/settings.ts';

const hose = (name: string, friction: PipePart['friction']): PipePart => ({
  name,
  from: 0,
  to: 1,
  friction,
  boreM: 0.038,
  lengthM: 30,
  lossFactor: 1.5,
});
const head = (name: string, exponent: number) => ({ name, junction: 1, k: 1.2e-6, exponent, openK: 4e-6 });

/** One of each kind between two junctions; the pump draws from a hydrant. */
const net = assembleNetwork({
  junctions: [
    { name: 'near', elevationM: 0 },
    { name: 'far', elevationM: 3 },
  ],
  sources: [{ name: 'hydrant', elevationM: 0 }],
  pipes: [
    hose('hazen-williams', { law: 'hazen-williams', c: 140 }),
    hose('coefficient', { law: 'coefficient', c: 24 }),
    hose('swamee-jain', { law: 'darcy-weisbach', roughnessM: 1e-4 }),
    hose('colebrook', { law: 'darcy-weisbach', roughnessM: 1e-4, colebrook: true }),
  ],
  gates: [{ name: 'gate', from: 0, to: 1, boreM: 0.025, openLossFactor: 2 }],
  pumps: [
    {
      name: 'pump',
      from: sourceEnd(0),
      to: 0,
      curve: fitPumpCurve([0, 4e-3, 8e-3, 12e-3], [14e5, 12e5, 8e5, 2e5]),
      elevationM: 0,
      suction: {
        friction: { law: 'hazen-williams', c: 140 },
        boreM: 0.065,
        lengthM: 3,
        lossFactor: 4,
        supplyLoss: 3e9,
      },
    },
  ],
  heads: [head('half', 0.5), head('more', 0.54)],
});
applySettings(net, nothingWrong(net));

const at = (link: number, flowM3s: number): { lossPa: number; slope: number } => {
  const [lossPa, slope] = linkLoss(net, link, flowM3s) as unknown as [number, number];
  return { lossPa, slope };
};
const suctionAt = (flowM3s: number): { lossPa: number; slope: number } => {
  const [lossPa, slope] = suctionLoss(net, 0, flowM3s) as unknown as [number, number];
  return { lossPa, slope };
};

/** From a hundredth of a trickle to more than any hose here carries. */
const FLOWS_M3S = Array.from({ length: 61 }, (_, i) => 1e-9 * 10 ** (i / 8.6));

const KINDS: [string, (flowM3s: number) => { lossPa: number; slope: number }][] = [
  ...net.linkName
    .slice(0, 8)
    .map((name, link): [string, (q: number) => { lossPa: number; slope: number }] => [
      name,
      (flowM3s) => at(link, flowM3s),
    ]),
  ['suction on a hydrant', suctionAt],
];

describe.each(KINDS)('%s', (_, link) => {
  it('has the derivative of its loss for a slope', () => {
    for (const flowM3s of FLOWS_M3S) {
      const step = 1e-5 * flowM3s;
      const { slope } = link(flowM3s);
      const change = link(flowM3s + step).lossPa - link(flowM3s - step).lossPa;
      // Rounding of the losses that are taken from each other.
      const rounding = 1e-13 * Math.abs(link(flowM3s).lossPa);
      expect(Math.abs(change - 2 * step * slope), `${flowM3s}`).toBeLessThan(2e-4 * Math.abs(change) + rounding);
    }
  });

  it('grows with flow, without a step', () => {
    let before = link(FLOWS_M3S[0]!);
    for (let flowM3s = FLOWS_M3S[0]!; flowM3s < 1e-2; flowM3s *= 1.003) {
      const here = link(flowM3s);
      expect(here.slope).toBeGreaterThan(0);
      const growth = here.lossPa - before.lossPa;
      const step = flowM3s - flowM3s / 1.003;
      expect(growth, `${flowM3s}`).toBeGreaterThanOrEqual(0);
      if (flowM3s > FLOWS_M3S[0]!)
        expect(growth, `${flowM3s}`).toBeLessThan(
          1.05 * step * Math.max(here.slope, before.slope) + 1e-9 * Math.abs(here.lossPa) + 1e-8,
        );
      before = here;
    }
  });
});
