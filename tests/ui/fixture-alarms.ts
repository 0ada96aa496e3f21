/** The alarms of the fixture pictures, and those that lie aside; in the words that the gateway makes. */
import type { Layout } from '../../config/layout/layout.ts';
import { DEADHEAD_WARNING, exercised, SENDING_LINE } from '../../config/safety.ts';
import type { Alarm, AsideAlarm, Cause, Priority, Verdict } from '../../config/wire/wire.ts';
import type { Condition } from './fixture-conditions.ts';

const PA = 1_000;
const LPM = 1 / 60_000;

function verdict(
  layout: Layout,
  id: string,
  cause: Cause,
  subject: string,
  kind: Verdict['subjectKind'],
  sinceMs: number,
  rest: Partial<Verdict>,
): Verdict {
  return {
    id,
    cause,
    subject,
    subjectKind: kind,
    places: [],
    sinceMs,
    probability: 0.97,
    sizeM3s: null,
    evidence: [],
    alternatives: [],
    headline: `${subject}: ${cause}`,
    check: 'Ask by radio what the gauge there reads.',
    warning: null,
    caution: SENDING_LINE,
    ask: null,
    carry: [],
    radio: `${layout.name}, ${subject}: ${cause}.`,
    ...rest,
  };
}

const REASONS: Readonly<Record<Priority, string>> = {
  people: 'it can hurt whoever is near',
  high: '8 of 8 structures short, now',
  medium: 'store lost, now',
  low: 'no head is lost by it',
};

function alarm(from: Verdict, priority: Priority, state: Alarm['state'], clearedMs: number | null = null): Alarm {
  return {
    verdict: from,
    priority,
    reason: REASONS[priority],
    state,
    raisedMs: from.sinceMs + 3_000,
    clearedMs,
    acknowledgedBy: state === 'acknowledged' ? 'KM' : null,
  };
}

export function asideOf(layout: Layout, condition: Condition, atMs: number): AsideAlarm[] {
  const leak = verdict(layout, 'outflow:line-e', 'leak', 'line-e', 'line', atMs - 900_000, {
    headline: 'E, upper cabin: leak, at e-hose-2 (loses 1.6 US gpm)',
    check: 'Look for mud, spray at couplings and a slack hose.',
  });
  const fade = verdict(layout, 'pump-side:pump', 'pump-fade', 'pump', 'pump', atMs - 120_000, {
    headline: 'portable pump: pump fading (down 12 %)',
  });
  if (condition === 'faulty')
    return [
      {
        ...alarm(leak, 'low', 'acknowledged'),
        state: 'shelved',
        aside: { by: 'KM', why: 'coupling weeps, known', untilMs: atMs + 1_560_000 },
      },
    ];
  if (condition === 'filling')
    return [
      {
        ...alarm(fade, 'medium', 'acknowledged'),
        acknowledgedBy: null,
        state: 'suppressed',
        aside: { by: 'KM', why: 'filling', untilMs: atMs + 540_000 },
      },
    ];
  return [];
}

export function alarmsOf(layout: Layout, condition: Condition, atMs: number): Alarm[] {
  if (condition === 'hazard') {
    return [
      alarm(
        verdict(layout, 'dead-head:pump', 'dead-head', 'pump', 'pump', atMs - 95_000, {
          headline: 'portable pump: deadheaded, running with no flow. STAY AWAY',
          evidence: [{ channel: 'flow', measured: 2 * LPM, expected: 366 * LPM, tolerance: 20 * LPM }],
          check: `${DEADHEAD_WARNING} Ask by radio which gates are shut.`,
          warning: DEADHEAD_WARNING,
          caution: null,
          radio: exercised(
            `Larch Cove, portable pump: deadheaded, running with no flow, since 14:07. ${DEADHEAD_WARNING}`,
            true,
          ),
        }),
        'people',
        'unacknowledged',
      ),
    ];
  }
  if (condition === 'stale') {
    return layout.sensors.slice(0, 2).map((sensor) =>
      alarm(
        verdict(layout, `silent:${sensor.id}`, 'sensor-silent', sensor.id, 'channel', atMs - 180_000, {
          headline: `${sensor.label}: no data (silent for 3 min)`,
          check: 'Ask by radio what the gauge there reads. No data is not good news.',
          carry: ['sensor box battery', 'hand gauge'],
        }),
        'low',
        'unacknowledged',
      ),
    );
  }
  if (condition === 'emergency') return emergency(layout, atMs);
  if (condition !== 'faulty') return [];
  const headOff = verdict(layout, 'opening:line-a', 'head-off', 'line-a', 'line', atMs - 143_000, {
    probability: 0.83,
    places: [
      { id: 'a-3', probability: 0.61 },
      { id: 'a-2', probability: 0.22 },
      { id: 'a-4', probability: 0.07 },
    ],
    sizeM3s: { best: 34 * LPM, low: 28 * LPM, high: 41 * LPM },
    evidence: [
      { channel: 'end-a-pressure', measured: 276 * PA, expected: 372 * PA, tolerance: 14 * PA },
      { channel: 'flow', measured: 400 * LPM, expected: 366 * LPM, tolerance: 12 * LPM },
    ],
    alternatives: [
      { words: 'leak, trunk side of a2', probability: 0.12 },
      { words: 'hose burst or parted, a-hose-3', probability: 0.03 },
    ],
    headline: 'A, boat house: head off, at lake eave, front eave or one of 1 more (loses 9.0 US gpm)',
    check:
      'Look along the line for a solid jet and for heads that droop. From the readings an opened head ' +
      'and a leak at the same point look alike.',
    ask: 'A look at lake eave, front eave, from a distance. Should separate nearly all of the explanations.',
    carry: ['spare heads of that size', 'adapters and washers', 'end cap', 'wire or strap', 'hose clamp'],
    radio:
      'Larch Cove, A, boat house: head off, at lake eave or front eave, since 14:07. End of line A 40 ' +
      'psi, expected 54. Loses 9.0 US gpm.',
  });
  return [
    alarm(headOff, 'medium', 'unacknowledged'),
    alarm(
      verdict(layout, 'tank-low:tank', 'tank-low', 'tank', 'source', atMs - 60_000, {
        headline: 'framed tank by the boat ramp: tank low, about 17 min left (13 to 21 min)',
        check: "Dip the tank and compare. Ask for the tender's ETA.",
      }),
      'medium',
      'acknowledged',
    ),
    alarm(
      verdict(layout, 'silent:end-d-pressure', 'sensor-silent', 'end-d-pressure', 'channel', atMs - 192_000, {
        headline: 'end of line D: no data (silent for 3 min)',
        carry: ['sensor box battery', 'hand gauge'],
      }),
      'low',
      'unacknowledged',
    ),
    alarm(
      verdict(layout, 'plug:line-c', 'plug', 'line-c', 'line', atMs - 1_500_000, {
        probability: 0.58,
        headline: 'C, store: nozzle plugged, at back eave 1',
        places: [{ id: 'c-3', probability: 0.58 }],
      }),
      'low',
      'returned-unacknowledged',
      atMs - 200_000,
    ),
  ];
}

/** Two of the worst, both acknowledged, and a silent gauge that nobody has acknowledged yet. */
function emergency(layout: Layout, atMs: number): Alarm[] {
  const burst = verdict(layout, 'outflow:trunk', 'hose-burst', 'trunk', 'trunk', atMs - 900_000, {
    headline: 'Trunk: hose burst or parted, at lower trunk 2 (about 108 US gpm)',
    check: 'Look for the open end from a distance, and stay clear of it: a loose hose under pressure whips.',
  });
  const suction = verdict(layout, 'pump-side:pump', 'suction-trouble', 'pump', 'pump', atMs - 600_000, {
    headline: 'portable pump: suction trouble',
    check: 'Check the water over the strainer, the strainer itself and the suction couplings.',
  });
  const silent = verdict(
    layout,
    'silent:end-e-pressure',
    'sensor-silent',
    'end-e-pressure',
    'channel',
    atMs - 896_000,
    {
      headline: 'end of line E: no data (silent for 15 min)',
    },
  );
  return [
    alarm(burst, 'high', 'acknowledged'),
    { ...alarm(suction, 'high', 'acknowledged'), acknowledgedBy: 'RT' },
    alarm(silent, 'low', 'unacknowledged'),
  ];
}
