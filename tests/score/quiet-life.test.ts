/**
 * Hours in which nothing is wrong: what is done in them, that the gateway is told, and that a restart forgets nothing.
 */
import { describe, expect, it } from 'vitest';
import type { Picture } from '../../config/wire/wire.ts';
import { createWatch } from '../../gateway/core/watch.ts';
import { SeededRandom } from '../../simulator/seeded-random.ts';
import { Simulation } from '../../simulator/simulation.ts';
import { scenarioNamed, START_MS } from '../support/drive.ts';
import { wholeOf } from './figures.ts';
import { GatewayRecord } from './gateway-record.ts';
import { scoreLay } from './lays.ts';
import { CHORES } from './normal-life.ts';
import { filling, quietLife } from './quiet-life.ts';
import { planOf, runTrial, TUNING_FROM } from './trial.ts';

const layout = scoreLay('larch-cove', 'fast');
const day = quietLife(layout, new SeededRandom(5), 200, 86_600);

describe('a quiet day', () => {
  it('has every sort of chore in it, in order, but for those that begin a run', () => {
    expect(new Set(day.map(({ kind }) => kind))).toEqual(
      new Set(CHORES.filter((kind) => kind !== 'slow fill' && kind !== 'fast fill')),
    );
    expect(day.map(({ atS }) => atS)).toEqual(day.map(({ atS }) => atS).sort((a, b) => a - b));
  });

  it('tells of every gate that is turned within seconds, and leaves all of them as rigged', () => {
    const turns = day.flatMap(({ atS, deed }) =>
      deed?.what === 'gate' ? [{ atS, gate: deed.at, opening: deed.size }] : [],
    );
    expect(turns.length).toBeGreaterThan(40);
    for (const { atS, gate, opening } of turns) {
      const words = day.filter(
        ({ entry, atS: toldS }) =>
          entry?.kind === 'gate' && entry.gate === gate && entry.opening === opening && Math.abs(toldS - atS) <= 3,
      );
      expect(words, `${gate} at ${atS} s`).toHaveLength(1);
    }
    for (const gate of layout.gates)
      expect(turns.findLast((turn) => turn.gate === gate.id)?.opening ?? gate.opening).toBe(gate.opening);
  });

  it('tells of every stop of the engine before it comes, and never lets the can run low', () => {
    const stops = day.filter(({ deed }) => deed?.what === 'refuel' || (deed?.what === 'throttle' && deed.size === 0));
    for (const { atS } of stops)
      expect(
        day.some(({ entry, atS: toldS }) => entry?.kind === 'mode' && entry.mode !== null && atS - toldS === 5),
      ).toBe(true);
    const filled = [0, ...day.filter(({ deed }) => deed?.what === 'refuel').map(({ atS }) => atS), 86_600];
    const canS = layout.pumps[0]!.fuelCapacityM3 / layout.pumps[0]!.kit.fuelUseM3s;
    expect(Math.max(...filled.slice(1).map((atS, index) => atS - filled[index]!))).toBeLessThan(0.6 * canS);
  });

  it('is begun dry in steps or at once, or not at all', () => {
    const sizes = (beginning: Parameters<typeof filling>[1]): (number | undefined)[] =>
      filling(layout, beginning, 0.95, new SeededRandom(3)).flatMap(({ deed }) => (deed ? [deed.size] : []));
    expect(sizes('running')).toEqual([]);
    expect(sizes('fast fill')).toEqual([0.95]);
    expect(sizes('slow fill')).toEqual([0.6, 0.75, 0.95]);
  });
});

describe('a gateway that is started again', () => {
  it('shows what one that never stopped shows: bands, baseline, gates and alarms', () => {
    const simulation = new Simulation(layout, {
      seed: 71,
      startMs: START_MS,
      scenario: { ...scenarioNamed('running'), telemetry: 'tidy' },
    });
    const record = new GatewayRecord(layout, START_MS);
    try {
      const steady = createWatch(layout, { simulated: true });
      let restarted = steady;
      const shown = (picture: Picture | null): unknown => ({
        channels: picture!.channels,
        baseline: picture!.baseline,
        gates: picture!.gates,
        alarms: picture!.alarms,
      });
      for (let second = 0; second < 260; second += 1) {
        const readings = record.take(simulation.second(), simulation.nowMs + 100);
        if (second === 200) restarted = record.restart(simulation.nowMs + 150);
        // The second's own readings come after its frame, as they do in a gateway that hears them from a broker.
        const pictures = [steady, restarted].map((watch) => watch.advance(simulation.nowMs + 100));
        for (const watch of new Set([steady, restarted])) {
          if (watch === steady || second > 200) for (const reading of readings) watch.take(reading);
        }
        if (second > 230) expect(shown(pictures[1]!)).toEqual(shown(pictures[0]!));
        if (second !== 120) continue;
        const entry = { kind: 'baseline', by: 'AB', headsSeenTurning: layout.heads.map(({ id }) => id) } as const;
        const refusal = steady.enter(entry, simulation.nowMs + 950);
        record.entered(entry, simulation.nowMs + 950, refusal);
        expect(refusal).toBeNull();
      }
    } finally {
      record.close();
    }
  });
});

describe('the row of normal life', () => {
  it('counts what was done in a run that is played, and puts each false alarm with what went before', () => {
    const outcome = runTrial({ ...planOf(TUNING_FROM, 120), site: 'two-lines-8', cadence: 'fast', calibrated: true })!;
    const { life, siteDays } = wholeOf([
      {
        ...outcome,
        falseAlarms: [
          { atS: 900, cause: 'leak', subject: 'line-0', probability: 0.8, says: '', after: 'cooling', words: '' },
        ],
      },
    ]);
    expect(life.find(({ kind }) => kind === 'cooling')).toMatchObject({ times: 1, falseAlarms: [{ cause: 'leak' }] });
    expect(life.reduce((sum, { times }) => sum + times, 0)).toBe(outcome.chores.length);
    expect(siteDays).toBeGreaterThan(120 / 86_400);
    expect(outcome.timeline.join('\n')).toContain('normal life: night cools');
  });
});
