/**
 * What crews rig beside the usual, against published figures: hydrants, Colebrook's friction factor, even outflow along
 * a hose, relief valves, boosters and governors.
 */
import { describe, expect, it } from 'vitest';
import { HOSE_KIT_BY_ID } from '../../config/kit/kit-catalogue.ts';
import { assembleNetwork } from '../../gateway/core/hydraulics/assemble.ts';
import { sourceEnd } from '../../gateway/core/hydraulics/parts.ts';
import { M3S_PER_USGPM, PA_PER_PSI } from '../../config/units.ts';
import { PA_PER_M } from '../../gateway/core/hydraulics/constants.ts';
import { darcyFactor, darcyFactorSlope } from '../../gateway/core/hydraulics/friction.ts';
import { solveRigged } from '../../gateway/core/hydraulics/governor.ts';
import { drainsBackM3 } from '../../gateway/core/hydraulics/lay-volume.ts';
import { buildNetwork } from '../../gateway/core/hydraulics/network.ts';
import { openingK } from '../../gateway/core/hydraulics/nozzle.ts';
import { evaluateRated, fitPumpCurve } from '../../gateway/core/hydraulics/pump-curve.ts';
import { preflight } from '../../gateway/core/hydraulics/preflight.ts';
import { remediesFor } from '../../gateway/core/hydraulics/remedy.ts';
import { asRigged, nothingWrong } from '../../gateway/core/hydraulics/settings.ts';
import { solve } from '../../gateway/core/hydraulics/solve.ts';
import { mainsLoss } from '../../gateway/core/hydraulics/source.ts';
import { LayoutBuilder } from '../support/layout-builder.ts';

describe('a hydrant', () => {
  // NFPA 291 (formula from memory): flow at 20 psi residual Q20 = Qr ((Ps - 20)/(Ps - Pr))^0.54; inputs of a published
  // flow test: static 80 psi, residual 47 psi at 627.5 US gpm; Q20 = 867.1 US gpm.
  it('gives at 20 psi what the flow-test formula gives', () => {
    const test = { staticPa: 80 * PA_PER_PSI, residualPa: 47 * PA_PER_PSI, residualFlowM3s: 627.5 * M3S_PER_USGPM };
    const at20 = ((60 * PA_PER_PSI) / mainsLoss(test)) ** (1 / 1.852);
    expect(at20 / M3S_PER_USGPM / 867.1).toBeCloseTo(1, 2);
  });

  it('stands behind the pump: suction at the tested flow is the residual less the suction hose', () => {
    const mains = { staticPa: 80 * PA_PER_PSI, residualPa: 47 * PA_PER_PSI, residualFlowM3s: 100 * M3S_PER_USGPM };
    const layout = new LayoutBuilder()
      .openWater('hydrant', { mains })
      .place('p0', 0)
      .pump('pump', 'hydrant', 'p0', { suctionLengthM: 1e-6, suctionLossFactor: 0 })
      .chain(['p0', 'p1'])
      .head('a', 'p1')
      .head('b', 'p1')
      .build();
    const net = buildNetwork(layout);
    const solution = solve(net, asRigged(net));
    expect(solution.fault).toBeNull();
    const q = solution.pumpFlowM3s[0]!;
    const expected = mains.staticPa - (mains.staticPa - mains.residualPa) * (q / mains.residualFlowM3s) ** 1.852;
    expect(Math.abs(solution.suctionPa[0]! - expected)).toBeLessThan(50);
    expect(q).toBeGreaterThan(0);
  });
});

describe("Colebrook's factor", () => {
  // Roots of the printed equation, by 60 bisections here: Colebrook, J. Inst. Civil Engineers 11 (1939) 133.
  const root = (reynolds: number, roughness: number): number => {
    let [low, high] = [0.005, 0.2];
    const off = (f: number): number =>
      1 / Math.sqrt(f) + 2 * Math.log10(roughness / 3.7 + 2.51 / (reynolds * Math.sqrt(f)));
    for (let i = 0; i < 60; i++) {
      const middle = (low + high) / 2;
      if (off(middle) > 0) low = middle;
      else high = middle;
    }
    return (low + high) / 2;
  };
  // Values of a general-purpose fluid-dynamics library's test suite (open source), to ten digits.
  it.each([
    [1e5, 1e-4, 0.018513866077],
    [1e5, 0, 0.01798977308],
  ])('Re %d, roughness %d: %d', (reynolds, roughness, published) => {
    expect(darcyFactor(reynolds, roughness, true)).toBeCloseTo(published, 10);
  });

  it.each(
    [4_000, 1e4, 1e5, 1e6, 1e7].flatMap((reynolds) =>
      [0, 1e-5, 1e-4, 1e-3, 1e-2, 0.05].map((roughness) => [reynolds, roughness] as const),
    ),
  )('Re %d, roughness %d', (reynolds, roughness) => {
    expect(darcyFactor(reynolds, roughness, true) / root(reynolds, roughness)).toBeCloseTo(1, 9);
    // Swamee & Jain (1976) claim 1 % of it for 1e-6..1e-2 and 5,000..1e8.
    if (reynolds > 5_000 && roughness > 0 && roughness <= 1e-2)
      expect(darcyFactor(reynolds, roughness) / darcyFactor(reynolds, roughness, true)).toBeCloseTo(1, 1);
    const step = reynolds * 1e-5;
    const slope = (darcyFactor(reynolds + step, roughness, true) - darcyFactor(reynolds, roughness, true)) / step;
    expect(Math.abs(darcyFactorSlope(reynolds, roughness, true) - slope)).toBeLessThan(1e-3 * Math.abs(slope) + 1e-15);
  });
});

describe('a hose that weeps evenly', () => {
  // Christiansen (1942), many outlets, Hazen-Williams: the loss of even outflow is F = 1/(1 + 1.852) = 0.351 of what
  // the whole flow would lose. The pressure is near enough the same all along this wide hose.
  it('loses what even outflow loses, and weeps what its pressure says', () => {
    const kit = { ...HOSE_KIT_BY_ID.get('lined-65')!, weepKPerM: 2e-8 };
    const rig = (weeping: boolean) => {
      const builder = new LayoutBuilder().tank('tank').place('p0', 0).place('p1', 0).pump('pump', 'tank', 'p0');
      return builder
        .hose('h', 'p0', 'p1', { lengthM: 100, kit: weeping ? kit : HOSE_KIT_BY_ID.get('lined-65')! })
        .build();
    };
    const net = buildNetwork(rig(true));
    const solution = solve(net, asRigged(net));
    const [nearPa, farPa] = ['p0', 'p1'].map((place) => solution.pressurePa[net.nodeOfPlace.get(place)!]!) as [
      number,
      number,
    ];
    const q = solution.pumpFlowM3s[0]!;
    expect(q / (100 * 2e-8 * Math.sqrt(nearPa))).toBeCloseTo(1, 2);
    const friction = HOSE_KIT_BY_ID.get('lined-65')!.friction;
    if (friction.law !== 'hazen-williams' && friction.law !== 'coefficient') throw new Error(friction.law);
    const exponent = friction.law === 'hazen-williams' ? 1.852 : 2;
    const share = (nearPa - farPa) / (net.pipes.friction[0]! * q ** exponent);
    expect(share).toBeCloseTo(1 / (1 + exponent), 1);
  });
});

describe('a relief valve', () => {
  const net = (opensPa: number) =>
    assembleNetwork({
      junctions: [{ name: 'outlet', elevationM: 0 }],
      sources: [{ name: 'tank', elevationM: 0 }],
      pipes: [],
      gates: [],
      pumps: [
        {
          name: 'pump',
          from: sourceEnd(0),
          to: 0,
          elevationM: 0,
          suction: null,
          curve: fitPumpCurve([0, 0.005, 0.01], [1e6, 8e5, 4e5]),
        },
      ],
      heads: [{ name: 'relief', junction: 0, k: openingK(0.01, 0.6), exponent: 0.5, openK: 0, opensPa }],
    });

  it('is shut below its pressure, and lets out K sqrt(p - p0) above it', () => {
    const shut = net(1.1e6);
    const tight = solve(shut, nothingWrong(shut));
    expect(tight.headFlowM3s[0]).toBe(0);
    expect(Math.abs(tight.pressurePa[0]! - 1e6)).toBeLessThan(500);
    const open = net(6e5);
    const solution = solve(open, nothingWrong(open));
    expect(solution.fault).toBeNull();
    expect(solution.pressurePa[0]).toBeGreaterThan(6e5);
    expect(solution.headFlowM3s[0]! / (openingK(0.01, 0.6) * Math.sqrt(solution.pressurePa[0]! - 6e5))).toBeCloseTo(
      1,
      4,
    );
  });
});

it('the relief valve of a layout opens where its file says, and passes 0.6 of the ideal jet of its bore', () => {
  // Torricelli: q = Cd A sqrt(2 (p - p0) / rho); Cd 0.6 is the sharp-edged orifice of the textbooks.
  const [opensPa, boreM] = [8e5, 0.012];
  const layout = new LayoutBuilder()
    .tank('tank')
    .pump('pump', 'tank', 'p0', { relief: { opensPa, boreM } })
    .chain(['p0', 'p1'])
    .head('a', 'p1')
    .build();
  const [pump] = preflight(layout).pumps;
  const jetM3s = (Math.PI / 4) * boreM ** 2 * Math.sqrt((2 * (pump!.dischargePa - opensPa)) / 1000);
  expect(pump!.dischargePa).toBeGreaterThan(opensPa + 5e4);
  expect(pump!.reliefM3s! / (0.6 * jetM3s)).toBeCloseTo(1, 4);
});

describe('pumps at work together', () => {
  const hill = (changes: object) =>
    new LayoutBuilder()
      .tank('tank')
      .place('p0', 0)
      .place('p1', 40)
      .place('p2', 40)
      .place('p3', 45)
      .pump('low', 'tank', 'p0', changes)
      .hose('climb', 'p0', 'p1', { lengthM: 100 })
      .pump('booster', 'tank', 'p2', { inlet: 'p1', elevationM: 40 })
      .hose('on', 'p2', 'p3')
      .head('a', 'p3')
      .build();

  it('a booster adds its rise to what reaches it: pumps in series', () => {
    const net = buildNetwork(hill({}));
    const solution = solve(net, asRigged(net));
    expect(solution.fault).toBeNull();
    expect(solution.pumpFlowM3s[0]! / solution.pumpFlowM3s[1]!).toBeCloseTo(1, 6);
    const at = (place: string): number => solution.pressurePa[net.nodeOfPlace.get(place)!]!;
    // In series each pump adds the rise of its own curve at the common flow (Hydraulic Institute, pumps in series).
    const rise = new Float64Array(2);
    evaluateRated(
      fitPumpCurve(net.layout.pumps[1]!.kit.curveFlowM3s, net.layout.pumps[1]!.kit.curveRisePa),
      solution.pumpFlowM3s[1]!,
      rise,
    );
    expect((at('p2') - solution.suctionPa[1]!) / rise[0]!).toBeCloseTo(1, 6);
    expect(solution.suctionPa[1]!).toBeLessThan(at('p1'));
    expect(solution.suctionPa[1]!).toBeGreaterThan(at('p1') - 2e4);
  });

  it('a governor holds its pressure, at a speed that it has', () => {
    const net = buildNetwork(hill({ holdsPa: 7e5 }));
    const { solution, speed } = solveRigged(net, asRigged(net));
    expect(solution.pressurePa[net.nodeOfPlace.get('p0')!]! / 7e5).toBeCloseTo(1, 4);
    expect(speed[0]).toBeGreaterThan(0.3);
    expect(speed[0]).toBeLessThan(1.05);
  });

  it('the first remedy for a weak head behind a governor is more pressure to hold, and it is enough', () => {
    const layout = new LayoutBuilder()
      .tank('tank')
      .place('p0', 0)
      .place('p1', 12)
      .pump('pump', 'tank', 'p0', { holdsPa: 2e5 })
      .hose('h', 'p0', 'p1')
      .head('a', 'p1')
      .build();
    const net = buildNetwork(layout);
    const [first] = remediesFor(net, asRigged(net), 'a');
    expect(first).toMatchObject({ change: 'held-pressure', subject: 'pump', speed: null });
    expect(first!.holdsPa!).toBeGreaterThan(2e5);
    const better = buildNetwork({
      ...layout,
      pumps: layout.pumps.map((pump) => ({ ...pump, holdsPa: first!.holdsPa })),
    });
    const pressurePa = solveRigged(better, asRigged(better)).solution.pressurePa[better.nodeOfHead.get('a')!]!;
    expect(pressurePa / first!.pressurePa).toBeCloseTo(1, 6);
    expect(pressurePa).toBeGreaterThanOrEqual(layout.heads[0]!.kit.turnPaMin);
  });

  it('a check valve in the climb keeps it from draining back', () => {
    const open = hill({ checkValve: false });
    const [low] = open.pumps;
    const areaM2 = (Math.PI / 4) * open.hoses[0]!.kit.boreM ** 2;
    expect(drainsBackM3(open, low!)).toBeCloseTo(areaM2 * 100, 9);
    const held = {
      ...open,
      hoses: open.hoses.map((hose) => (hose.id === 'climb' ? { ...hose, checkValve: true } : hose)),
    };
    expect(drainsBackM3(held, low!)).toBe(0);
  });
});

it('water only ever runs with the arrow through a check valve', () => {
  // Two tanks at different heights: the hose from the low one to the high one stands still. Head, textbook statics.
  const tanks = (oneWay: boolean) =>
    assembleNetwork({
      junctions: [{ name: 'low', elevationM: 0 }],
      sources: [
        { name: 'pond', elevationM: 0 },
        { name: 'tower', elevationM: 10 },
      ],
      pipes: [
        {
          name: 'pond-hose',
          from: sourceEnd(0),
          to: 0,
          friction: { law: 'hazen-williams', c: 140 },
          boreM: 0.05,
          lengthM: 10,
          lossFactor: 0,
        },
        {
          name: 'tower-hose',
          from: 0,
          to: sourceEnd(1),
          friction: { law: 'hazen-williams', c: 140 },
          boreM: 0.05,
          lengthM: 10,
          lossFactor: 0,
          oneWay,
        },
      ],
      gates: [],
      pumps: [],
      heads: [],
    });
  const free = solve(tanks(false), nothingWrong(tanks(false)), undefined);
  const net = tanks(true);
  const held = solve(net, { ...nothingWrong(net), sourceLevelM: Float64Array.of(1, 0) });
  expect(free.pipeFlowM3s[1]!).toBeLessThan(0);
  expect(Math.abs(held.pipeFlowM3s[1]!)).toBeLessThan(1e-9);
  expect(held.pressurePa[0]! / PA_PER_M).toBeCloseTo(1, 4);
});
