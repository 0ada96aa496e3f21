/**
 * Pump, water or hose lay: the clauses on pictures made for them, and the curves against the model they are drawn from.
 */
import { describe, expect, it } from 'vitest';
import type { Cause, ChannelPicture, Picture } from '../../config/wire/wire.ts';
import { WhatIf, NO_CHANGE } from '../../gateway/core/hydraulics/what-if.ts';
import { flowAt, PumpDuty, through } from '../../ui/state/pump-duty.ts';
import { pumpAnswer, pumpClauses, pumpNow, suctionNow, type Clause } from '../../ui/words/pump-question.ts';
import { noWaterTime, waterLeftWords } from '../../ui/words/supply.ts';
import { blankAlarm } from '../support/blank-picture.ts';
import { siteLayout } from '../support/drive.ts';
import { picture } from './fixture.ts';

const layout = siteLayout('larch-cove');
const pump = layout.pumps[0]!;
const healthy = picture(layout, 'healthy', 1_800_000_000_000);
const amount = (value: number | null): string => String(value);

function clauses(changes: Partial<Picture>): Clause[] {
  return pumpClauses(layout, pump, { ...healthy, ...changes }, amount);
}

function changed(channel: string, changes: Partial<ChannelPicture>): Partial<Picture> {
  return { channels: healthy.channels.map((one) => (one.channel === channel ? { ...one, ...changes } : one)) };
}

const judged = (found: readonly Clause[]): string =>
  found.map((clause) => `${clause.part} ${clause.judged}`).join(', ');

describe('pump, water or hose lay', () => {
  it('says of a healthy site that nothing stands out', () => {
    expect(judged(clauses({}))).toBe('pump fine, water fine, network fine');
    expect(pumpAnswer(clauses({}))).toBe('Nothing stands out.');
  });

  it.each([
    ['discharge', 'pump', 'pump'],
    ['suction', 'water', 'water'],
    ['flow', 'network', 'hose lay'],
  ])('a strayed %s points at the %s and at nothing else', (channel, part, said) => {
    const { high } = healthy.channels.find((one) => one.channel === channel)!;
    const found = clauses(changed(channel, { value: high! + 1 }));
    expect(found.filter((clause) => clause.judged === 'wrong').map((clause) => clause.part)).toEqual([part]);
    expect(pumpAnswer(found)).toBe(`It looks like the ${said}.`);
  });

  it.each([
    ['a gauge gone silent', { freshness: 'stale' }],
    ['a stuck gauge', { doubt: 'stuck' }],
    ['nothing expected', { expected: null, low: null, high: null }],
  ] as const)('%s makes its part unknown, never fine, and the answer says so', (_name, changes) => {
    const found = clauses(changed('suction', changes));
    expect(judged(found)).toBe('pump fine, water unknown, network fine');
    expect(pumpAnswer(found)).toBe('Nothing stands out. The water cannot be judged.');
  });

  it.each([
    ['discharge', 0, 'No gauge at its discharge.'],
    ['suction', 1, 'No gauge at its suction: only the level can tell.'],
    ['flow', 2, 'No flow meter: only the line ends can tell.'],
  ])('without a gauge for %s its part is unknown, and it is said what can tell', (id, part, words) => {
    const without = { ...layout, sensors: layout.sensors.filter((sensor) => sensor.id !== id) };
    expect(pumpClauses(without, pump, healthy, amount)[part]).toMatchObject({ judged: 'unknown', words });
  });

  it('without a gauge says what is missing; with the pump stopped compares nothing', () => {
    const without = { ...layout, sensors: layout.sensors.filter(({ id }) => id !== 'flow') };
    expect(pumpClauses(without, pump, healthy, amount)[2]).toMatchObject({
      judged: 'unknown',
      words: expect.stringContaining('No flow meter') as unknown,
    });
    expect(pumpAnswer(clauses({ pumps: healthy.pumps.map((one) => ({ ...one, state: 'stopped' })) }))).toBe(
      'Nothing here can be judged now.',
    );
  });

  it('a standing alarm counts against its part, one that is over does not', () => {
    const leak = blankAlarm('outflow:line-a');
    expect(judged(clauses({ alarms: [leak] }))).toContain('network wrong');
    expect(judged(clauses({ alarms: [{ ...leak, clearedMs: 1, state: 'returned-unacknowledged' }] }))).toContain(
      'network fine',
    );
  });
});

const flagged = (cause: Cause, subject: string, subjectKind: 'pump' | 'source'): Partial<Picture> => {
  const alarm = blankAlarm(`${cause}:${subject}`);
  const headline = `${subject}: ${cause}`;
  return { alarms: [{ ...alarm, verdict: { ...alarm.verdict, cause, subject, subjectKind, headline } }] };
};
const pumpAt = (changes: Partial<Picture['pumps'][number]>): Picture['pumps'] =>
  healthy.pumps.map((one) => ({ ...one, ...changes }));

describe('what a pump is said to do', () => {
  it("is 'running' only while water runs through it", () => {
    expect(pumpNow(pump, healthy).word).toBe('running');
    const flowless = { ...healthy, pumps: pumpAt({ flowM3s: 0 }) };
    expect(pumpNow(pump, flowless).word).toBe('turning, next to no flow');
    expect(pumpNow(pump, { ...flowless, ...flagged('suction-trouble', 'pump', 'pump') }).word).toBe(
      'turning, makes no pressure',
    );
    expect(pumpNow(pump, { ...healthy, pumps: pumpAt({ flowM3s: null }) }).word).toBe('running');
    expect(pumpNow(pump, { ...healthy, pumps: pumpAt({ state: 'dead-head' }) }).word).toMatch(/stay away$/);
    expect(pumpNow(pump, null).word).toBe('unknown');
  });

  it('has ample suction only without trouble there, inside the band, and while it turns', () => {
    expect(suctionNow(layout, pump, healthy)!.state.word).toBe('suction ample');
    const trouble = { ...healthy, ...flagged('suction-trouble', 'pump', 'pump') };
    expect(suctionNow(layout, pump, trouble)!.state.word).toBe('suction trouble');
    const [alarm] = trouble.alarms!;
    const aside = { by: 'AB', why: 'known', untilMs: 0 };
    const shelved = { ...healthy, setAside: [{ ...alarm!, state: 'shelved' as const, aside }] };
    expect(suctionNow(layout, pump, shelved)!.state.word).toBe('suction trouble');
    for (const other of [flagged('fuel-low', 'pump', 'pump'), flagged('suction-trouble', 'another-pump', 'pump')])
      expect(suctionNow(layout, pump, { ...healthy, ...other })!.state.word).toBe('suction ample');
    const outside = [{ channel: 'suction', side: 'below' as const }];
    expect(suctionNow(layout, pump, { ...healthy, outside })!.state.word).toBe('suction not as it should be');
    expect(suctionNow(layout, pump, { ...healthy, ...changed('suction', { freshness: 'stale' }) })).toBeNull();
    expect(suctionNow(layout, pump, { ...healthy, pumps: pumpAt({ state: 'stopped' }) })).toBeNull();
  });
});

describe('a pump that turns against a shut lay', () => {
  const answer = 'It looks like the hose lay (gates shut), not the pump. The pump turns against a shut lay: stay away.';
  const high = { ...changed('discharge', { value: 9e9 }), ...changed('flow', { value: 0 }) };

  it.each([
    ['flagged', flagged('dead-head', 'pump', 'pump')],
    ['seen before it is flagged', { pumps: pumpAt({ state: 'dead-head', flowM3s: 0 }) }],
    ['with its gauge off', { ...high, ...flagged('dead-head', 'pump', 'pump') }],
  ])('%s: it is the hose lay and not the pump, and says stay away', (_name, changes) => {
    const found = clauses(changes);
    expect(judged(found)).toBe('pump unknown, water fine, network wrong');
    expect(pumpAnswer(found)).toBe(answer);
    expect(found[2]!.words).toMatch(/^The pump turns against a shut lay: stay away\./);
  });

  it('still tells a trouble of the pump itself and what cannot be judged beside', () => {
    const [shut] = flagged('dead-head', 'pump', 'pump').alarms!;
    const [fade] = flagged('pump-fade', 'pump', 'pump').alarms!;
    expect(pumpAnswer(clauses({ alarms: [shut!, fade!] }))).toBe(
      'It looks like the pump and the hose lay. The pump turns against a shut lay: stay away.',
    );
    const silent = { ...changed('suction', { freshness: 'stale' }), alarms: [shut!] };
    expect(pumpAnswer(clauses(silent))).toBe(`${answer} The water cannot be judged.`);
  });

  it('is over with its alarm: the parts are judged again', () => {
    const [shut] = flagged('dead-head', 'pump', 'pump').alarms!;
    const over = clauses({ alarms: [{ ...shut!, clearedMs: 1, state: 'returned-unacknowledged' }] });
    expect(pumpAnswer(over)).toBe('Nothing stands out.');
  });
});

describe('what explains nothing that is seen now', () => {
  it('a tank or a can that runs low is told beside, and nothing looks wrong for it', () => {
    const tank = clauses(flagged('tank-low', 'tank', 'source'));
    expect(pumpAnswer(tank)).toBe('Nothing stands out.');
    expect(tank.find(({ part }) => part === 'water')!.words).toMatch(/ tank: tank-low\.$/);
    const can = clauses(flagged('fuel-low', 'pump', 'pump'));
    expect(pumpAnswer(can)).toBe('Nothing stands out.');
    expect(can.find(({ part }) => part === 'pump')!.words).toMatch(/ pump: fuel-low\.$/);
  });
});

describe('the hose lay', () => {
  it('is no better than its line ends, and cannot be judged without flow or while it fills', () => {
    const off = clauses({ outside: [{ channel: 'end-c-pressure', side: 'below' }] });
    expect(off[2]).toMatchObject({
      judged: 'wrong',
      words: expect.stringMatching(/End of line C below its band\.$/) as unknown,
    });
    expect(judged(clauses({ pumps: pumpAt({ flowM3s: 0 }) }))).toContain('network unknown');
    expect(judged(clauses({ pumps: pumpAt({ state: 'starting' }) }))).toBe(
      'pump unknown, water unknown, network unknown',
    );
  });

  it('goes by the last seconds: one reading outside is said, and is nothing wrong', () => {
    const { high } = healthy.channels.find((one) => one.channel === 'flow')!;
    const alone = clauses({ ...changed('flow', { value: high! + 1 }), outside: [] });
    expect(alone[2]).toMatchObject({
      judged: 'fine',
      words: expect.stringMatching(/its last reading alone is outside/) as unknown,
    });
  });
});

describe('time left', () => {
  const [source] = layout.sources;
  const [supply] = healthy.supplies;

  it('is one sentence for all screens, and says why where there is none', () => {
    expect(waterLeftWords(source, supply)).toBe('41 min (35 to 48 min)');
    expect(noWaterTime(source, { ...supply!, emptyInS: null })).toBe('not falling');
    expect(noWaterTime(source, { ...supply!, emptyInS: null, trendM3s: null })).toBe('trend not known yet');
    expect(noWaterTime(source, { ...supply!, filling: true })).toBe('being filled');
    expect(noWaterTime(source, { ...supply!, volumeM3: null, emptyInS: null })).toBe('level not known');
    expect(noWaterTime(undefined, undefined)).toBe('level not known');
  });
});

describe('the duty of a pump', () => {
  const duty = new PumpDuty(layout, pump.id);
  const asRigged = {
    gateOpening: layout.gates.map((gate) => gate.opening),
    levelM: layout.sources.map(() => null),
    dischargePa: layout.pumps.map(() => null),
  };
  const system = duty.systemCurve(asRigged);

  it('has its pump curve and its system curve cross where the whole model runs', () => {
    const answer = new WhatIf(layout).answer(NO_CHANGE).pumps[0]!;
    const risePa = answer.dischargePa - answer.suctionPa;
    expect(flowAt(system, risePa)! / answer.flowM3s).toBeCloseTo(1, 2);
    // The rest is the height between eye and outlet, and straight lines between the points.
    expect(duty.rise(answer.flowM3s, answer.speed) / risePa).toBeCloseTo(1, 2);
  });

  it('has a curve that falls with the square of speed, and its flows with speed (affinity laws, Hydraulic Institute)', () => {
    const [full, half] = [duty.pumpCurve(1), duty.pumpCurve(0.5)];
    expect(half).toHaveLength(full.length);
    half.forEach(({ flowM3s, risePa }, index) => {
      expect(flowM3s).toBeCloseTo(full[index]!.flowM3s / 2, 12);
      expect(risePa / (full[index]!.risePa / 4)).toBeCloseTo(1, 6);
    });
    // From a shut gate to the end of the kit's sheet, in even steps.
    const most = pump.kit.curveFlowM3s.at(-1)!;
    expect(full.map(({ flowM3s }) => flowM3s / most)).toEqual(
      Array.from({ length: 25 }, (_, step): unknown => expect.closeTo(step / 24, 9)),
    );
    // The kit's own sheet at rated speed.
    pump.kit.curveFlowM3s.forEach((flowM3s, index) =>
      expect(duty.rise(flowM3s, 1) / pump.kit.curveRisePa[index]!).toBeCloseTo(1, 5),
    );
  });

  it('needs more pressure for more flow, and draws less with a gate shut', () => {
    expect(system.length).toBeGreaterThan(15);
    expect(
      system.every(
        (point, index) =>
          index === 0 || (point.flowM3s > system[index - 1]!.flowM3s && point.risePa > system[index - 1]!.risePa),
      ),
    ).toBe(true);
    const gated = duty.systemCurve({
      ...asRigged,
      gateOpening: asRigged.gateOpening.map((opening, index) => (index === 0 ? 0 : opening)),
    });
    expect(flowAt(gated, 8e5)!).toBeLessThan(flowAt(system, 8e5)!);
  });

  it('is stretched through a point, and through none that lies off the curve', () => {
    const point = { flowM3s: 1.1 * flowAt(system, 8e5)!, risePa: 8e5 };
    expect(flowAt(through(system, point)!, 8e5)! / point.flowM3s).toBeCloseTo(1, 9);
    expect(through(system, { flowM3s: 0.005, risePa: 9e6 })).toBeNull();
    expect(through(system, { flowM3s: 0, risePa: 8e5 })).toBeNull();
  });
});
