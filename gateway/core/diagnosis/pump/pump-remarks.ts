/**
 * What is worth a note of a pump: that its state has changed, and that its speed has stepped.
 *
 * In: a pump as it is now, and its state a second ago. Out: the notes, in words.
 */
import type { PumpState } from '../../../../config/wire/wire.ts';
import type { PumpWatch } from './pump-watch.ts';

export function pumpRemarks({ pump, regime }: PumpWatch, before: PumpState): string[] {
  const { state, step } = regime;
  const rpm = (ratio: number): number => Math.round(ratio * pump.kit.ratedRotationHz * 60);
  return [
    ...(state !== before && before !== 'unknown' ? [`${pump.label}: ${before} -> ${state}`] : []),
    ...(step
      ? [
          `${pump.label}: speed went from ${rpm(step.fromRatio)} to ${rpm(step.toRatio)} rpm ` +
            `${step.unheard ? 'while it was not heard' : 'in one step, as a throttle does'}`,
        ]
      : []),
  ];
}
