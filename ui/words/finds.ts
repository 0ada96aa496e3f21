/** What a crew can have found, as it says so; the last group is what pressure and flow cannot show. */
import type { TruthKind } from '../../config/wire/truth.ts';

export const FIND_WORDS: Readonly<Record<TruthKind, string>> = {
  'head-off': 'Head off',
  leak: 'Leak',
  'hose-burst': 'Hose burst or parted',
  plug: 'Nozzle plugged',
  restriction: 'Hose kinked',
  'gate-shut': 'Gate shut',
  'pump-stop': 'Pump stopped',
  'pump-fade': 'Pump weak',
  'dead-head': 'Pump deadheaded',
  'suction-trouble': 'Suction trouble',
  'tank-leak': 'Tank leaks',
  'sensor-wrong': 'Sensor wrong or silent',
  'head-stalled': 'Head stalled, water runs',
  'head-slipped': 'Head slipped, still sprays',
  'wrong-arc': 'Head waters the wrong side',
  'other-unseen': 'Something no gauge could show',
  'nothing-wrong': 'Nothing wrong there',
  'walked-all': 'All was walked: what is not listed was not there',
  front: "The fire's front arrived",
  note: 'Note',
};

export const FIND_GROUPS: readonly (readonly [string, readonly TruthKind[]])[] = [
  [
    'What gauges can show',
    [
      'head-off',
      'leak',
      'hose-burst',
      'plug',
      'restriction',
      'gate-shut',
      'pump-stop',
      'pump-fade',
      'dead-head',
      'suction-trouble',
      'tank-leak',
      'sensor-wrong',
    ],
  ],
  ['What no gauge here can show', ['head-stalled', 'head-slipped', 'wrong-arc', 'other-unseen']],
  ['And besides', ['nothing-wrong', 'walked-all', 'front', 'note']],
];
