/**
 * The sentences that keep people safe, word for word and in their order, by cause and by place where they are told.
 * Each is retyped here, so that none can be dropped, turned round or reordered unseen. Common practice, no source, but
 * for what scalds and whips: pump and hose manuals warn of water heated at no flow and of loose hose under pressure.
 */
import { describe, expect, it } from 'vitest';
import { CAUSE_IDS as CAUSES } from '../../config/causes/causes.ts';
import { ADVISORY_LINE, exercised, SENDING_LINE } from '../../config/safety.ts';
import type { Cause, Verdict } from '../../config/wire/wire.ts';
import { checkOf, verdictOf } from '../../gateway/core/alarms/wording.ts';
import type { Finding } from '../../gateway/core/diagnosis/isolation/finding.ts';
import type { Question } from '../../gateway/core/diagnosis/isolation/next-check.ts';
import { blankFinding } from '../support/blank-finding.ts';
import { siteLayout } from '../support/drive.ts';

const layout = siteLayout('larch-cove');

const ADVISORY = 'Advisory only. Sees no fire. Never go because of a reading.';
const SENDING =
  'Only if incident command has cleared the area. Let hot engines cool. Bleed the line before opening ' +
  'a coupling or fitting a gauge.';
const FUEL = 'Fuel only a stopped engine: let it cool, extinguisher at hand.';
const DEADHEAD = 'Stay away from the pump and let it cool. Do not touch couplings: the water inside can scald.';
const AWAY = 'Stay away from the pump: it has run with no flow, and the water inside can scald.';

const SUBJECTS: Readonly<Record<string, readonly [string, Finding['subjectKind']]>> = {
  pump: ['pump', 'pump'],
  tank: ['tank', 'source'],
  line: ['line-a', 'line'],
  trunk: ['trunk', 'trunk'],
  'line end': ['end-a-pressure', 'channel'],
  'pump gauge': ['discharge', 'channel'],
  'tank gauge': ['level', 'channel'],
  site: ['site', 'site'],
};

function finding(cause: Cause, at: keyof typeof SUBJECTS & string, question: Question | null = null): Finding {
  const [subject, subjectKind] = SUBJECTS[at]!;
  return blankFinding(cause, subject, {
    subjectKind,
    places: [{ id: subject, probability: 1 }],
    sinceMs: Date.UTC(2026, 6, 14, 20, 7),
    question,
  });
}
const told = (one: Finding, hazards: readonly string[] = [], simulated = false): Verdict =>
  verdictOf(one, layout, { simulated, hazards: new Set(hazards) });
const asked = (kind: Question['kind']): Question => ({ kind, at: ['thief-a'], bits: 0.9, openBits: 1 });

describe('the fixed lines', () => {
  it('are these, word for word', () => {
    expect(ADVISORY_LINE).toBe(ADVISORY);
    expect(SENDING_LINE).toBe(SENDING);
  });

  it('EXERCISE stands before all that is said in a simulation, once, and before nothing else', () => {
    expect(exercised('Larch Cove, pump: leak.', true)).toBe('EXERCISE. Larch Cove, pump: leak.');
    expect(exercised('EXERCISE. Larch Cove, pump: leak.', true)).toBe('EXERCISE. Larch Cove, pump: leak.');
    expect(exercised('Larch Cove, pump: leak.', false)).toBe('Larch Cove, pump: leak.');
  });
});

describe.each(CAUSES)('%s', (cause) => {
  it('carries the fixed line wherever it sends eyes or hands', () => {
    for (const at of Object.keys(SUBJECTS)) {
      const { caution, check, ask, carry } = told(finding(cause, at, asked('look')));
      expect(check).not.toBe('');
      if (cause === 'dead-head') expect([caution, ask, carry]).toEqual([null, null, []]);
      else expect(caution).toBe(SENDING);
    }
  });

  it('orders nobody to go, and calls nothing safe', () => {
    for (const at of Object.keys(SUBJECTS))
      for (const kind of ['gate', 'throttle', 'gauge', 'look'] as const)
        for (const hazards of [[], ['pump']]) {
          const { headline, check, warning, caution, ask, carry, radio } = told(
            finding(cause, at, asked(kind)),
            hazards,
          );
          const words = [headline, check, warning, caution, ask, carry.join(', '), radio]
            .join(' ')
            .replace(ADVISORY, '');
          expect(words).not.toMatch(
            /\b(go (to|and|back|in|up|there)|walk (to|up|the)|head (to|for)|drive (to|up)|enter|climb|run (to|up)|return to|send (some|a )|hurry|approach|must (be )?(look|check|open|shut|go))/i,
          );
          expect(words).not.toMatch(/\b(is|are|be|now) (safe|protected|secure)\b/i);
          expect(words).not.toMatch(/(?<!before )(?<!not )\bopen(ing)? a coupling/i);
        }
  });

  it('in a simulation is said as an exercise', () => {
    for (const at of Object.keys(SUBJECTS)) {
      expect(told(finding(cause, at), [], true).radio).toMatch(/^EXERCISE\. Larch Cove, /);
      expect(told(finding(cause, at), [], false).radio).toMatch(/^Larch Cove, /);
    }
  });
});

describe('beside a dead-head', () => {
  it.each(CAUSES.filter((cause) => cause !== 'dead-head'))(
    '%s says stay away in place of its check, and carries nothing there',
    (cause) => {
      for (const at of ['pump', 'tank', 'trunk', 'pump gauge', 'tank gauge', 'site']) {
        const near = told(finding(cause, at, asked('gauge')), ['pump']);
        expect(near, at).toMatchObject({ check: AWAY, warning: AWAY, caution: null, ask: null, carry: [] });
        expect(near.radio.endsWith(`. ${AWAY}`), near.radio).toBe(true);
      }
      for (const at of ['line', 'line end']) {
        const far = told(finding(cause, at, asked('gauge')), ['pump']);
        const calm = told(finding(cause, at), []);
        expect(far).toMatchObject({ check: `${AWAY} ${calm.check}`, warning: AWAY, caution: SENDING, ask: null });
        expect(far.radio.endsWith(`. ${AWAY}`)).toBe(true);
        expect(calm.warning).toBeNull();
        expect(`${calm.check} ${calm.radio}`).not.toContain('tay away from the pump');
      }
    },
  );
});

describe('how near a card would send people to a dead-head', () => {
  const mill = siteLayout('mill-lane');
  const near = (subject: string, ...places: readonly string[]): Verdict =>
    verdictOf(
      blankFinding('sensor-stuck', subject, {
        subjectKind: 'channel',
        places: places.map((id) => ({ id, probability: 1 / places.length })),
      }),
      mill,
      { simulated: false, hazards: new Set(['hill-pump']) },
    );

  it('goes by the pump that is a hazard: a gauge of another pump of the site keeps its check', () => {
    expect(near('hill-speed', 'hill-speed').check).toBe(AWAY);
    expect(near('speed', 'speed').check).toBe(`${AWAY} ${checkOf('sensor-stuck')}`);
  });

  it('goes by every place that the card names: one of them at the pump is enough', () =>
    expect(near('end-h-pressure', 'end-h-pressure', 'hill-speed').check).toBe(AWAY));
});

describe('by cause', () => {
  it('a dead-head: the headline, the card, the radio', () => {
    const verdict = told(finding('dead-head', 'pump', asked('look')), ['pump']);
    expect(verdict.headline).toBe('portable pump: deadheaded, running with no flow. STAY AWAY');
    expect(verdict.warning).toBe(DEADHEAD);
    expect(verdict.check).toBe(`${DEADHEAD} Ask by radio which gates are shut.`);
    expect(verdict.radio).toBe(`Larch Cove, portable pump: deadheaded, running with no flow, since 14:07. ${DEADHEAD}`);
  });

  it('a hose burst: from a distance, and clear of it', () =>
    expect(told(finding('hose-burst', 'trunk')).check).toBe(
      'Look for the open end from a distance, and stay clear of it: a loose hose under pressure whips.',
    ));

  it.each(['pump-stop', 'pump-fade', 'fuel-low'] as const)('%s: how fuel is handled, and an extinguisher', (cause) => {
    const { check, carry } = told(finding(cause, 'pump'));
    expect(check.endsWith(` ${FUEL}`), check).toBe(true);
    expect(carry).toContain('extinguisher');
  });

  it('a shock: slowly', () =>
    expect(told(finding('shock', 'line')).check).toContain('The shock itself is over: start and shut slowly.'));

  it('a tank at its rim: asks for it to stop', () =>
    expect(told(finding('tank-overfull', 'tank')).check).toBe(
      'Ask whoever fills it to stop: water over the rim washes out the ground that a framed tank stands on.',
    ));

  it('a gauge that reads wrong: held against another at the same coupling, for elsewhere pressure is another', () =>
    expect(told(finding('sensor-drift', 'line end')).check).toBe('Compare with a hand gauge at the same coupling.'));

  it.each(CAUSES)('%s: a head that is to be carried is named with its size, for others do not fit', (cause) => {
    const heads = told(finding(cause, 'line')).carry.filter((thing) => /\bheads\b/.test(thing));
    for (const thing of heads) expect(thing).toBe('spare heads of that size');
  });

  it('a silent gauge: no data is not good news', () =>
    expect(told(finding('sensor-silent', 'line end')).check).toBe(
      'Ask by radio what the gauge there reads. No data is not good news.',
    ));
});

describe('moves that are proposed', () => {
  it('of gate and throttle: only if incident command agrees, and back slowly', () => {
    expect(told(finding('leak', 'line', asked('gate'))).ask).toBe(
      'If incident command agrees: thief-a shut for half a minute and logged here, then opened slowly. ' +
        'Should separate nearly all of the explanations.',
    );
    expect(told(finding('leak', 'line', asked('throttle'))).ask).toBe(
      'If incident command agrees: throttle down until discharge pressure has fallen by a fifth, half ' +
        'a minute, then back slowly. Should separate nearly all of the explanations.',
    );
  });

  it('a look is from a distance', () =>
    expect(told(finding('leak', 'line', asked('look'))).ask).toMatch(/^A look at .*, from a distance\. /));
});
