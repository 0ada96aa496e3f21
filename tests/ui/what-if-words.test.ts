/**
 * What if warns of a pump that would run with no flow, by the model's own answers for the sample site. The warning is
 * retyped here; what scalds is from pump manuals, which warn of water heated at no flow.
 */
import { describe, expect, it } from 'vitest';
import { NO_CHANGE, WhatIf, type Answer } from '../../gateway/core/hydraulics/what-if.ts';
import { deadheadIf, suctionIf } from '../../ui/words/what-if.ts';
import { siteLayout } from '../support/drive.ts';

const DEADHEAD = 'Stay away from the pump and let it cool. Do not touch couplings: the water inside can scald.';
const layout = siteLayout('larch-cove');
const [pump] = layout.pumps;
const shut = (ids: readonly string[]): Answer =>
  new WhatIf(layout).answer({ ...NO_CHANGE, gateOpening: Object.fromEntries(ids.map((id) => [id, 0])) });
const gates = layout.gates.map(({ id }) => id);

describe('a pump that would run with no flow', () => {
  it('is warned of with all gates shut, and its suction is not called ample', () => {
    const answer = shut(gates);
    expect(answer.fault).toBeNull();
    expect(deadheadIf(layout.pumps, answer)).toBe(`So set, the pump runs with no flow. ${DEADHEAD}`);
    expect(suctionIf(pump!, answer.pumps[0]!).word).toBe('turning, next to no flow');
  });

  it('is warned of while water runs nowhere only: not as rigged, not with one gate shut, not again once opened', () => {
    for (const ids of [[], gates.slice(0, 1)]) {
      const answer = shut(ids);
      expect(deadheadIf(layout.pumps, answer)).toBeNull();
      expect(suctionIf(pump!, answer.pumps[0]!).word).toBe('suction ample');
    }
  });

  it('is named where there are more, and not told from an answer that means nothing', () => {
    const answer = shut(gates);
    const two = [pump!, { ...pump!, id: 'other', label: 'second pump' }];
    expect(deadheadIf(two, answer)).toBe(`So set, ${pump!.label} runs with no flow. ${DEADHEAD}`);
    const both = { ...answer, pumps: two.map(({ id }) => ({ ...answer.pumps[0]!, id })) };
    expect(deadheadIf(two, both)).toBe(`So set, ${pump!.label} and second pump run with no flow. ${DEADHEAD}`);
    expect(deadheadIf(layout.pumps, { ...answer, fault: 'no answer' })).toBeNull();
  });
});
