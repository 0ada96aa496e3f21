/**
 * From findings to alarms: what a hazard to people does to the words of every other card, as it begins, ends, is
 * acknowledged and returns; and what people's entries leave in the record.
 */
import { describe, expect, it } from 'vitest';
import type { Cause } from '../../config/wire/wire.ts';
import { AlarmDesk } from '../../gateway/core/alarms/alarm-desk.ts';
import type { Finding } from '../../gateway/core/diagnosis/isolation/finding.ts';
import { Operations } from '../../gateway/core/operations/operations.ts';
import { blankFinding } from '../support/blank-finding.ts';
import { siteLayout } from '../support/drive.ts';

const layout = siteLayout('larch-cove');
const AWAY = 'Stay away from the pump: it has run with no flow, and the water inside can scald.';
const SUCTION = 'Check the water over the strainer, the strainer itself and the suction couplings.';

const found = (cause: Cause, subject = 'pump'): Finding =>
  blankFinding(cause, subject, { subjectKind: 'pump', probability: 0.99 });

class Desk {
  readonly operations = new Operations(layout);
  readonly desk = new AlarmDesk(layout, false, this.operations);
  second = 0;

  run(seconds: number, ...causes: Cause[]): void {
    for (let count = 0; count < seconds; count += 1, this.second += 1)
      this.desk.update(
        causes.map((cause) => found(cause)),
        new Map(),
        this.second * 1_000,
      );
  }
  check(cause: Cause): string | undefined {
    return this.desk.pictures(0).alarms.find(({ verdict }) => verdict.cause === cause)?.verdict.check;
  }
  acknowledge(cause: Cause): string | null {
    return this.desk.enter({ kind: 'acknowledge', by: 'KM', alarm: `${cause}:pump` }, this.second * 1_000);
  }
}

describe('a dead-head beside another trouble of its pump', () => {
  it('takes the other card its check from its first second until somebody has acknowledged that it is over', () => {
    const desk = new Desk();
    desk.run(20, 'suction-trouble');
    expect(desk.check('suction-trouble')).toBe(SUCTION);
    desk.run(1, 'suction-trouble', 'dead-head');
    expect(desk.check('suction-trouble')).toBe(AWAY);
    expect(desk.acknowledge('dead-head')).toBeNull();
    desk.run(20, 'suction-trouble', 'dead-head');
    expect(desk.check('suction-trouble'), 'acknowledged, it stands').toBe(AWAY);
    desk.run(30, 'suction-trouble');
    expect(desk.check('suction-trouble'), 'over, and nobody has acknowledged that').toBe(AWAY);
    expect(desk.acknowledge('dead-head')).toBeNull();
    desk.run(1, 'suction-trouble');
    expect(desk.check('suction-trouble')).toBe(SUCTION);
    desk.run(1, 'suction-trouble', 'dead-head');
    expect(desk.check('suction-trouble'), 'it returns').toBe(AWAY);
  });
});

it('what alarms do is on record as said by the gateway: flagged, and over', () => {
  const desk = new Desk();
  desk.run(20, 'suction-trouble');
  desk.run(20);
  expect(desk.operations.notes).toMatchObject([
    { by: null, words: 'Over: portable pump: suction trouble' },
    { by: null, words: 'Flagged: portable pump: suction trouble' },
  ]);
});

describe('entries', () => {
  it('are on record with who made them; what is not there is refused and is not', () => {
    const desk = new Desk();
    desk.run(20, 'suction-trouble');
    const notes = desk.operations.notes.length;
    expect(desk.acknowledge('leak')).toMatch(/There is no alarm 'leak:pump' on the list now/);
    expect(desk.operations.notes.length).toBe(notes);
    expect(desk.acknowledge('suction-trouble')).toBeNull();
    expect(desk.operations.notes[0]).toMatchObject({ by: 'KM', words: 'Acknowledged: portable pump: suction trouble' });
    const alarm = 'suction-trouble:pump';
    expect(
      desk.desk.enter({ kind: 'shelve', by: 'KM', alarm, why: ' known ', minutes: 5 }, desk.second * 1_000),
    ).toBeNull();
    expect(desk.operations.notes[0]!.words).toBe('Shelved for 5 min (known): portable pump: suction trouble');
    expect(desk.desk.enter({ kind: 'unshelve', by: 'KM', alarm }, desk.second * 1_000)).toBeNull();
    expect(desk.operations.notes[0]!.words).toBe('Taken off the shelf: portable pump: suction trouble');
  });
});
