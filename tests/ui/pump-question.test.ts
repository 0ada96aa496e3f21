/**
 * Pump, water or hose lay: the clauses on pictures made for them, and the curves against the model they are drawn from.
 */
import { describe, expect, it } from 'vitest';
import type { ChannelPicture, Picture } from '../../config/wire.ts';
import { WhatIf, NO_CHANGE } from '../../gateway/hydraulics/what-if.ts';
import { flowAt, PumpDuty, through } from '../../ui/state/pump-duty.ts';
import { pumpAnswer, pumpClauses, type Clause } from '../../ui/words/pump-question.ts';
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
