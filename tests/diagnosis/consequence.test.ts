/**
 * What each trouble does, on lays where it can be worked out: the model with and without it, its pump on its own curve.
 * And against the plant, whose physics is another: the structures that an alarm counts as short are short there.
 */
import { describe, expect, it } from 'vitest';
import type { Layout } from '../../config/layout/layout.ts';
import type { Cause } from '../../config/wire/wire.ts';
import { kitBelief } from '../../gateway/core/diagnosis/model/parameter-estimate.ts';
import { hypothesesOf } from '../../gateway/core/diagnosis/causes/causes.ts';
import { keyOf } from '../../gateway/core/diagnosis/causes/hypothesis.ts';
import type { Candidate } from '../../gateway/core/diagnosis/isolation/candidate.ts';
import { Consequences, type Consequence } from '../../gateway/core/diagnosis/states/consequence.ts';
import type { BelievedLay, SeenPump } from '../../gateway/core/diagnosis/states/lost-heads.ts';
import { Expectation } from '../../gateway/core/diagnosis/model/expectation.ts';
import type { Finding } from '../../gateway/core/diagnosis/isolation/finding.ts';
import { gaugesOf } from '../../gateway/core/diagnosis/model/gauge.ts';
import { buildNetwork } from '../../gateway/core/hydraulics/network.ts';
import { asRigged } from '../../gateway/core/hydraulics/settings.ts';
import { solve } from '../../gateway/core/hydraulics/solve.ts';
import { blankFinding } from '../support/blank-finding.ts';
import { Drive, siteLayout } from '../support/drive.ts';

const layout = siteLayout('larch-cove');

const found = (cause: Cause, subject: string, changes: Partial<Finding> = {}): Finding =>
  blankFinding(cause, subject, { key: keyOf(cause, subject), probability: 0.99, ...changes });

type Pick3 = readonly [Cause, string, number];

/** The lay with these troubles in it, its pump on its curve, and a diagnosis that believes just them. */
function lay(picks: readonly Pick3[], site: Layout = layout): { lay: BelievedLay; findings: Finding[] } {
  const network = buildNetwork(site);
  const gauges = gaugesOf(site, network);
  const expectation = new Expectation(site, network, gauges);
  const belief = kitBelief(site, network, gauges);
  const causes = picks.map(([cause, place, size]): Candidate => {
    const hypothesis = hypothesesOf(site, network, gauges).find((one) => one.cause === cause && one.place === place)!;
    return { hypothesis, size, sizeSd: 0.1, score: 0 };
  });
  const settings = asRigged(network);
  for (const { hypothesis, size } of causes)
    if (hypothesis.effect.kind === 'network') hypothesis.effect.apply(settings, size);
  const { pressurePa, pumpFlowM3s, suctionPa } = solve(network, settings);
  const boundary = {
    dischargePa: Float64Array.from(site.pumps, ({ outlet }) => pressurePa[network.nodeOfPlace.get(outlet)!]!),
    suctionPa: suctionPa.slice(),
    flowM3s: pumpFlowM3s.slice(),
    speedRatio: Float64Array.from(site.pumps, ({ speed }) => speed),
    levelM: settings.sourceLevelM.slice(),
    gateOpening: Float64Array.from(site.gates, ({ opening }) => opening),
  };
  const changes = causes.map(
    ({ hypothesis: { effect }, size }) =>
      (to: Parameters<Extract<typeof effect, { kind: 'network' }>['apply']>[0]) =>
        effect.kind === 'network' ? effect.apply(to, size) : undefined,
  );
  return {
    lay: {
      expectation,
      belief,
      gauges,
      present: expectation.predict(belief, boundary, changes),
      believed: { causes, boundary },
    },
    findings: causes.map(({ hypothesis: { cause, subject, subjectKind } }) => found(cause, subject, { subjectKind })),
  };
}

const RUNNING: readonly SeenPump[] = layout.pumps.map((pump) => ({
  pump,
  findings: [],
  regime: { state: 'running', dryRunningMs: null, sag: null },
}));

function of(
  findings: readonly Finding[],
  believed: BelievedLay,
  changes: { pumps?: readonly SeenPump[]; shut?: string; emptyS?: number | null } = {},
): ReadonlyMap<string, Consequence | null> {
  const emptyS = changes.emptyS ?? null;
  return new Consequences(layout).of({
    nowMs: 0,
    findings,
    lay: believed,
    pumps: changes.pumps ?? RUNNING,
    supplies: layout.sources.map(({ id }) => ({
      source: id,
      volumeM3: 6,
      usableM3: 5,
      trendM3s: -0.006,
      filling: false,
      emptyInS: emptyS === null ? null : { best: emptyS, low: emptyS, high: emptyS },
      firstShort: null,
    })),
    shutByOrder: (line) => line === changes.shut,
  });
}
const only = (picks: readonly Pick3[]): Consequence => {
  const made = lay(picks);
  return of(made.findings, made.lay).get(made.findings[0]!.key)!;
};

describe('of a trouble in the lay', () => {
  it('a burst answers for what the pump no longer gives, although the lay is sound at the pressure it left', () => {
    const burst = only([['hose-burst', 'trunk-6', 1]]);
    expect(burst.allStructures).toBe(8);
    expect(burst.structures.length).toBeGreaterThanOrEqual(5);
    expect(burst.lost).toBeGreaterThan(10);
    expect(burst.worth).toBeGreaterThan(0.25);
  });

  it('a weep costs nobody a head', () =>
    expect(only([['leak', 'trunk-6', 0.001]])).toMatchObject({ lost: 0, structures: [], worth: 0 }));

  it('a shut gate costs its own line, and nobody else', () => {
    const shut = only([['gate-shut', 'thief-c', 1]]);
    expect(shut.structures).toEqual([{ label: 'store', priority: 2, lost: 4, heads: 4 }]);
    expect(shut.lost).toBe(4);
  });

  it('a head that is off, or a nozzle shut by half, is lost itself; one shut by a tenth turns', () => {
    expect(only([['head-off', 'a-3', 1]]).lost).toBe(1);
    expect(only([['plug', 'a-3', 0.6]]).lost).toBe(1);
    expect(only([['plug', 'a-3', 0.1]]).lost).toBe(0);
  });

  it('a line shut by order counts for nobody', () => {
    const made = lay([['hose-burst', 'trunk-6', 1]]);
    const key = made.findings[0]!.key;
    const all = of(made.findings, made.lay).get(key)!;
    const without = of(made.findings, made.lay, { shut: 'line-d' }).get(key)!;
    expect(without.lost).toBeLessThan(all.lost);
    expect(without.structures.map(({ label }) => label)).not.toContain('lodge');
  });

  it('of two, each has its own; a head that each of them keeps from turning counts for both', () => {
    const made = lay([
      ['gate-shut', 'thief-c', 1],
      ['head-off', 'a-3', 1],
    ]);
    const both = of(made.findings, made.lay);
    expect(both.get('blocked:line-c')).toMatchObject({ lost: 4 });
    expect(both.get('outflow:line-a')).toMatchObject({ lost: 1 });
    const worse = lay([
      ['gate-shut', 'thief-c', 1],
      ['hose-burst', 'trunk-6', 1],
    ]);
    const each = of(worse.findings, worse.lay);
    expect(each.get('blocked:line-c')!.structures.map(({ label }) => label)).toEqual(['store']);
    expect(each.get('outflow:trunk')!.lost).toBeGreaterThan(10);
  });

  it('is not known while the lay does not run, or nothing believed explains it', () => {
    const made = lay([['hose-burst', 'trunk-6', 1]]);
    const { key } = made.findings[0]!;
    expect(of(made.findings, { ...made.lay, present: null }).get(key)).toBeNull();
    expect(of([found('leak', 'line-b')], made.lay).get('outflow:line-b')).toBeNull();
  });
});

describe('of a pump, a tank, a gauge', () => {
  const sound = lay([]).lay;
  const stopped: readonly SeenPump[] = RUNNING.map((one) => ({ ...one, regime: { ...one.regime, state: 'stopped' } }));

  it.each(['pump-stop', 'dead-head'] as const)('%s costs every structure, without any model', (cause) => {
    const finding = found(cause, 'pump', { subjectKind: 'pump' });
    const does = of([finding], { ...sound, present: null }, { pumps: stopped }).get(finding.key)!;
    expect(does).toMatchObject({ lost: layout.heads.length, worth: 1, inS: null });
    expect(does.structures.length).toBe(8);
  });

  it('suction trouble that has run dry does too', () => {
    const finding = found('suction-trouble', 'pump', { subjectKind: 'pump' });
    const dry = RUNNING.map((one) => ({ ...one, regime: { ...one.regime, dryRunningMs: 0 } }));
    expect(of([finding], { ...sound, present: null }, { pumps: dry }).get(finding.key)!.lost).toBe(layout.heads.length);
    expect(of([finding], { ...sound, present: null }).get(finding.key)).toBeNull();
  });

  it('an engine that slid answers for the heads that its speed took', () => {
    const made = lay([]);
    const boundary = { ...made.lay.believed.boundary!, speedRatio: Float64Array.of(0.45) };
    const network = made.lay.expectation.network;
    const settings = { ...asRigged(network), pumpSpeed: Float64Array.of(0.45) };
    boundary.dischargePa[0] = solve(network, settings).pressurePa[network.nodeOfPlace.get(layout.pumps[0]!.outlet)!]!;
    const slid = {
      ...made.lay,
      believed: { causes: [], boundary },
      present: made.lay.expectation.predict(made.lay.belief, boundary),
    };
    const fade = found('pump-fade', 'pump', { subjectKind: 'pump', facts: { share: 0.53 } });
    const pumps: readonly SeenPump[] = RUNNING.map((one) => ({
      ...one,
      findings: [fade],
      regime: { ...one.regime, sag: { sinceMs: 0, share: 0.53 } },
    }));
    const short = layout.heads.filter(
      ({ id, kit }) => slid.present!.solution.pressurePa[network.nodeOfHead.get(id)!]! < kit.turnPaMin,
    ).length;
    expect(short).toBeGreaterThan(3);
    expect(of([fade], slid, { pumps }).get(fade.key)!.lost).toBe(short);
  });

  it('water that runs out costs all that it feeds, then; a leak of the tank the same', () => {
    const left = { best: 500, low: 400, high: 700 };
    const low = found('tank-low', 'tank', { subjectKind: 'source', facts: { leftS: left, refillS: 600, usual: true } });
    const leak = found('tank-leak', 'tank', { subjectKind: 'source' });
    const both = of([low, leak], sound, { emptyS: 480 });
    expect(both.get(low.key)).toMatchObject({
      lost: layout.heads.length,
      inS: left,
      refill: { takesS: 600, filling: false, usual: true },
    });
    expect(both.get(leak.key)).toMatchObject({
      lost: layout.heads.length,
      inS: { best: 480 },
      refill: { takesS: 600 },
    });
    expect(of([leak], sound).get(leak.key)!.lost).toBe(0);
  });

  it('a silent gauge costs no head, and says how many nobody can judge', () => {
    const end = found('sensor-silent', 'end-d-pressure', {
      subjectKind: 'channel',
      places: [{ id: 'end-d-pressure', probability: 1 }],
    });
    const box = found('sensor-silent', 'discharge', {
      subjectKind: 'channel',
      places: [{ id: 'discharge', probability: 1 }],
    });
    const all = found('sensor-silent', 'site', { subjectKind: 'site' });
    const each = of([end, box, all], sound);
    const own = layout.heads.filter(({ line }) => line === 'line-d').length;
    expect([...each.values()].map((one) => [one!.lost, one!.unseen])).toEqual([
      [0, own],
      [0, layout.heads.length],
      [0, layout.heads.length],
    ]);
  });
});

describe('against the plant', () => {
  it('a burst: what it counts is short there, it stays High while the pump is not heard, and is over when it is mended', () => {
    const drive = new Drive(layout, { seed: 9_811 });
    drive.run(100);
    expect(drive.baseline()).toBeNull();
    drive.run(10);
    drive.carry({ do: 'start', what: 'hose-burst', at: 'trunk-6' });
    drive.run(40);
    const burst = (): Drive['picture']['alarms'][number] =>
      drive.picture.alarms.find(({ verdict }) => verdict.subject === 'trunk')!;
    const { plant } = drive.simulation;
    // The plant's nozzles differ from the kit by some per cent: between surely short and perhaps short.
    const short = (share: number): number =>
      layout.structures.filter(({ id }) =>
        layout.heads.some(
          ({ structure, kit }, head) =>
            structure === id && plant.headFlowM3s[head]! < share * kit.k * kit.turnPaMin ** kit.exponent,
        ),
      ).length;
    expect(burst().priority).toBe('high');
    const counted = Number(/^(\d) of 8 structures/.exec(burst().reason)![1]);
    expect(counted).toBeGreaterThanOrEqual(short(0.93));
    expect(counted).toBeLessThanOrEqual(short(1.07));
    expect(
      drive.watch.enter({ kind: 'acknowledge', by: 'KM', alarm: burst().verdict.id }, drive.simulation.nowMs),
    ).toBeNull();
    const box = layout.sensors.filter(({ mounting }) => 'pump' in mounting);
    for (const { id } of box) drive.carry({ do: 'start', what: 'sensor-silent', at: id });
    drive.run(200);
    expect(burst()).toMatchObject({ priority: 'high', state: 'acknowledged' });
    expect(burst().reason).toMatch(/\(as last known\)$/);
    for (const { id } of box) drive.carry({ do: 'repair', what: 'sensor-silent', at: id });
    drive.carry({ do: 'repair', what: 'hose-burst', at: 'trunk-6' });
    expect(drive.until(120, () => !drive.standing.some((name) => name.endsWith(' trunk')))).not.toBeNull();
  });
});
