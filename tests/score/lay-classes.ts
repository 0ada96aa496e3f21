/** Classes of trouble in the lay: heads, hoses, gates. */
import type { Layout } from '../../config/layout/layout.ts';
import type { FaultClass } from './fault-class.ts';
import { headFault, hoseFault, leakSize, named, pick } from './fault-draws.ts';

const AT_16_LITRES = 16 / 60_000;
const flowOf = (head: Layout['heads'][number]): number => head.kit.k * 345_000 ** head.kit.exponent;
const large = (head: Layout['heads'][number]): boolean => flowOf(head) > AT_16_LITRES;
const inLine = (hose: Layout['hoses'][number]): boolean => hose.line !== null;

/** A stalled head is scored by whether the baseline of its line had shown its beat, however strong the beat was. */
export const SEEN = 'impact stalled, beat seen';
export const UNSEEN = 'impact stalled, not seen';

export const LAY_CLASSES: readonly FaultClass[] = [
  {
    name: 'light head off',
    aim: { recall: 0.99, line: 0.99, cause: 0.95, delayS: 10 },
    watchS: 120,
    draw: headFault('head-off', (head) => head.kit.light),
  },
  {
    name: 'light head slipped',
    aim: null,
    watchS: 180,
    unseen: 'A fall of 1 to 3 m is worth 1 to 5 % of one head: within the noise of its line end.',
    draw: headFault(
      'head-slipped',
      (head) => head.kit.light,
      (dice) => dice.between(1, 3),
    ),
  },
  {
    name: SEEN,
    aim: { recall: 0.95, line: 0.99, cause: 0.95, delayS: 180 },
    watchS: 420,
    beat: [0.008, 0.02],
    draw: headFault('head-stalled', (head) => head.kit.family === 'impact'),
  },
  {
    name: UNSEEN,
    aim: null,
    watchS: 300,
    beat: [0, 0.0004],
    unseen: 'Its flow stays, and the baseline did not show its beat: the screen says which lines showed how many.',
    draw: headFault('head-stalled', (head) => head.kit.family === 'impact'),
  },
  {
    name: 'hose burst',
    aim: { recall: 1, line: 1, cause: 0.95, delayS: 5 },
    watchS: 90,
    draw: hoseFault(
      'hose-burst',
      () => true,
      () => null,
    ),
  },
  {
    name: 'hose burned through',
    aim: { recall: 1, line: 1, cause: 0.95, delayS: 5 },
    watchS: 90,
    draw: hoseFault(
      'hose-burned',
      () => true,
      () => null,
    ),
  },
  {
    name: 'valve shut',
    aim: { recall: 1, line: 1, cause: 0.95, delayS: 5 },
    watchS: 90,
    draw: (layout, _plant, dice) => {
      const gate = pick(layout.gates, dice);
      return (
        gate && {
          deeds: [{ what: 'gate-shut', at: gate.id }],
          answer: { ...named('gate-shut', [gate.line ?? 'trunk']), places: [gate.id] },
        }
      );
    },
  },
  {
    name: 'leak 3-10 % of flow',
    aim: { recall: 0.97, line: 0.95, cause: 0.9, delayS: 60 },
    watchS: 180,
    draw: hoseFault(
      'leak',
      () => true,
      (dice, ...where) => leakSize(dice.between(0.03, 0.1), ...where),
    ),
  },
  {
    name: 'gasket weeps and grows',
    aim: null,
    watchS: 900,
    draw: hoseFault(
      'gasket-weep',
      () => true,
      (dice, ...where) => leakSize(dice.between(0.05, 0.12), ...where),
    ),
  },
  {
    name: 'nozzle plugged',
    aim: { recall: 0.97, line: 0.97, cause: 0.9, delayS: 60 },
    watchS: 180,
    draw: headFault('plug', large, (dice) => dice.between(0.7, 1)),
  },
  {
    name: 'nozzle silts up',
    aim: null,
    watchS: 1_200,
    draw: headFault('plug-creeping', large, (dice) => dice.between(0.8, 1)),
  },
  {
    name: 'feeder kinked',
    aim: { recall: 0.97, line: 0.97, cause: 0.9, delayS: 30 },
    watchS: 150,
    // A head short of water behind its feeder or at its nozzle: one and the same to any gauge in the line.
    draw: headFault('feeder-kinked', large, (dice) => 10 ** dice.between(1.8, 3)),
  },
  {
    name: 'trunk or line kinked',
    aim: { recall: 0.97, line: 0.97, cause: 0.9, delayS: 30 },
    watchS: 150,
    draw: hoseFault(
      'restriction',
      () => true,
      (dice) => 10 ** dice.between(1.3, 2.3),
    ),
  },
  {
    name: 'line hose kinked',
    aim: { recall: 0.97, line: 0.97, cause: 0.9, delayS: 30 },
    watchS: 150,
    draw: hoseFault('restriction', inLine, (dice) => 10 ** dice.between(1.3, 2.3)),
  },
  {
    name: 'hose freezes',
    aim: null,
    watchS: 360,
    draw: hoseFault('frozen', inLine, () => null),
  },
  {
    name: 'heads are taken',
    aim: null,
    watchS: 360,
    draw: (layout, _plant, dice) => {
      const line = pick(layout.lines, dice)!;
      return {
        deeds: [{ what: 'theft', at: line.id, size: 100 }],
        answer: {
          ...named('theft', [line.id]),
          places: layout.heads.filter((head) => head.line === line.id).map(({ id }) => id),
        },
      };
    },
  },
];
