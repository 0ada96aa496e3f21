/** What is said of a burst of fast samples and of the beats in it. */
import type { BurstBeat, BurstStanding } from '../../config/wire/bursts.ts';

/** Why the beats of the heads cannot be looked for; null: they can. */
export const BURST_STANDINGS: Record<BurstStanding, string | null> = {
  judged: null,
  'too-short': 'Too few samples to tell any beat: some were lost on the way.',
  'no-baseline':
    'No baseline had been taken by then: nobody knows how this line should beat. A stalled head cannot be seen here.',
  'no-beat':
    'The baseline showed no beat on this line that stood out in every burst. A head that stalls but ' +
    'still flows cannot be seen here: only eyes can tell.',
  'baseline-gone': 'The bursts of the baseline are not kept any more: there is nothing to compare this one with.',
  'no-pressure': "The line's pressure at that time is not known, and the beats go with it: they cannot be looked for.",
  'other-pressure': 'The pressure is too far from that of the baseline: heads may rightly beat otherwise here.',
};

export const HEARD: Record<BurstBeat['heard'], string> = { heard: 'heard', faint: 'faint', gone: 'not heard' };
