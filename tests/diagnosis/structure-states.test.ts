/** A structure by its own heads: what is counted, and the clause that says why. Standings and lines are invented. */
import { describe, expect, it } from 'vitest';
import type { HeadStanding } from '../../gateway/core/hydraulics/limits.ts';
import {
  countHeads,
  structureState,
  type Judged,
  type Told,
} from '../../gateway/core/diagnosis/states/structure-states.ts';
import { siteLayout } from '../support/drive.ts';

const layout = siteLayout('larch-cove');
const head = layout.heads[0]!;

function heads(...standings: readonly (HeadStanding | null | 'idle' | 'failed')[]): Judged[] {
  return standings.map((one) => ({
    head,
    picture: { head: head.id, state: 'unknown', pressurePa: null, flowM3s: null, seenTurningMs: null },
    standing: one === 'idle' || one === 'failed' ? null : one,
    dry: one === 'idle' || one === 'failed' ? one : null,
    suspect: false,
  }));
}
const state = (own: readonly Judged[], line: Told): Told => structureState(own, layout, new Map([[head.line, line]]));

const SHORT: Told = { state: 'running-short', why: 'its heads', because: 'because of the leak on line B' };

describe('the heads of a structure', () => {
  it('are counted by where they stand, each once', () => {
    const own = heads('turns', 'turns', 'too-weak', 'no-water', 'failed', 'idle', 'too-strong', 'breaks', null);
    expect(countHeads(own)).toEqual({ total: 9, low: 1, dry: 2, idle: 1, over: 2, unknown: 1 });
  });
});

describe('a structure', () => {
  it('that is short says by how many of its heads, and what that is put down to', () => {
    expect(state(heads('turns', 'too-weak', 'too-weak'), SHORT)).toEqual({
      state: 'running-short',
      why: '2 of its 3 heads under turning pressure; because of the leak on line B',
    });
  });

  it('that is short because a line has no water says that of the line, in place of what else is found', () => {
    expect(
      state(heads('turns', 'too-weak', 'failed'), { ...SHORT, why: 'no pressure at its end', dry: true }).why,
    ).toBe('1 of its 3 heads under turning pressure and 1 without water; no pressure at its end');
  });

  it('has failed when all heads that should run are lost, whatever stands still by order', () => {
    expect(state(heads('too-weak', 'too-weak', 'idle'), SHORT).state).toBe('down');
    expect(state(heads('too-weak', 'turns', 'idle'), SHORT).state).toBe('running-short');
  });
});
