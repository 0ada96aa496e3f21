/** Records of before: what an alarm did not say then is said on the safe side, and nothing breaks. */
import { describe, expect, it } from 'vitest';
import type { Alarm } from '../../config/wire/wire.ts';
import { readAlarm, readPicture } from '../../gateway/journal/picture-record.ts';
import { blankAlarm, blankPicture } from '../support/blank-picture.ts';

const SENDING =
  'Only if incident command has cleared the area. Let hot engines cool. Bleed the line before opening ' +
  'a coupling or fitting a gauge.';
const DEADHEAD = 'Stay away from the pump and let it cool. Do not touch couplings: the water inside can scald.';

/** As an older version wrote it. */
function older(alarm: Alarm): unknown {
  const unknownThen = ['reason', 'warning', 'caution'];
  return JSON.parse(
    JSON.stringify(alarm, (key, value: unknown) => (unknownThen.includes(key) ? undefined : value)),
  ) as unknown;
}

describe('a picture of an older record', () => {
  it('has alarms without reasons, whose cards carry the fixed line, and whose hazards say stay away', () => {
    const [leak, hazard] = [blankAlarm('leak'), blankAlarm('dead-head', { priority: 'people' })];
    const aside = { ...leak, state: 'shelved' as const, aside: { by: 'KM', why: 'known', untilMs: 9 } };
    const body = JSON.stringify({
      ...blankPicture(0),
      alarms: [older(leak), older(hazard)],
      setAside: [{ ...(older(aside) as object) }],
    });
    const { alarms, setAside } = readPicture(body);
    expect(alarms[0]).toMatchObject({ reason: '', verdict: { warning: null, caution: SENDING } });
    expect(alarms[1]).toMatchObject({ reason: '', verdict: { warning: DEADHEAD } });
    expect(setAside[0]).toMatchObject({ reason: '', state: 'shelved', verdict: { caution: SENDING } });
    expect(readAlarm(JSON.parse(JSON.stringify(older(leak))) as Alarm).verdict.caution).toBe(SENDING);
  });

  it('one of this version stays as it was written', () => {
    const picture = blankPicture(0, { alarms: [blankAlarm('leak', { reason: 'no head is lost by it' })] });
    expect(readPicture(JSON.stringify(picture))).toEqual(picture);
  });
});
