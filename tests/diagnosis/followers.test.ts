/** A line end that ice has shut off holds still while the throttle moves the rest. Common practice, no source; the plant's ice is another author's. */
import { describe, expect, it } from 'vitest';
import { scoreLay } from '../score/lays.ts';
import { Drive } from '../support/drive.ts';

const layout = scoreLay('larch-cove', 'fast');
const iced = { what: 'sensor-iced', at: 'end-c-pressure', size: 3 };

function throttled(drive: Drive, size: number, seconds: number): void {
  drive.carry({ do: 'start', what: 'throttle', at: layout.pumps[0]!.id, size });
  drive.run(seconds);
}

describe.each([9_231, 9_232])('seed %i', (seed) => {
  it('an iced stub is stuck from the next step of the throttle on, is one alarm, and is taken back at the first step after it has thawed', () => {
    const drive = new Drive(layout, { seed });
    drive.run(100);
    expect(drive.baseline()).toBeNull();
    drive.carry({ do: 'start', ...iced });
    drive.run(20);
    throttled(drive, 0.88, 30);
    expect(drive.standing).toEqual(['sensor-stuck end-c-pressure']);
    drive.run(60);
    expect([...drive.raised.keys()]).toHaveLength(1);
    drive.carry({ do: 'repair', ...iced });
    drive.run(10);
    throttled(drive, 0.97, 40);
    expect(drive.standing).toEqual([]);
  });

  it.each([8, 10, 12, 14])('no sound end is taken for one when the trunk bursts %i s after a step of the throttle', (afterS) => {
    const drive = new Drive(scoreLay('two-lines-8', 'fast'), { seed });
    drive.run(100);
    expect(drive.baseline()).toBeNull();
    drive.carry({ do: 'start', what: 'throttle', at: drive.layout.pumps[0]!.id, size: 0.9 });
    drive.run(afterS);
    drive.carry({ do: 'start', what: 'hose-burst', at: 'trunk-1' });
    drive.run(30);
    expect([...drive.raised.values()].map(({ verdict }) => verdict.cause)).not.toContain('sensor-stuck');
  });

  it('no sound end is taken for one, nor that of a line whose hose has burst', () => {
    const drive = new Drive(layout, { seed });
    drive.run(100);
    expect(drive.baseline()).toBeNull();
    for (const size of [0.87, 1, 0.9]) throttled(drive, size, 30);
    expect(drive.standing).toEqual([]);
    drive.carry({ do: 'start', what: 'hose-burst', at: 'c-hose-2' });
    drive.run(20);
    throttled(drive, 1, 30);
    expect(drive.standing).toEqual(['hose-burst line-c']);
  });
});
