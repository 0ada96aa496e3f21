/** The classes of trouble that the scorecard has a row for, in the order in which seeds are dealt to them. */
import type { FaultClass } from './fault-class.ts';
import { sensorFault, swappedPair } from './fault-draws.ts';
import { LAY_CLASSES } from './lay-classes.ts';
import { SUPPLY_CLASSES } from './supply-classes.ts';

export const CLASSES: readonly FaultClass[] = [
  ...LAY_CLASSES,
  ...SUPPLY_CLASSES,
  {
    name: 'sensor stuck',
    aim: { recall: 0.97, line: 1, cause: 0.95, delayS: 60 },
    watchS: 120,
    draw: sensorFault('sensor-stuck'),
  },
  {
    name: 'sensor drifts',
    aim: { recall: 0.97, line: 1, cause: 0.95, delayS: 60 },
    watchS: 300,
    draw: sensorFault('sensor-drift', (dice) => dice.between(15, 60)),
  },
  {
    name: 'sensor silent',
    aim: { recall: 0.97, line: 1, cause: 0.95, delayS: 60 },
    watchS: 120,
    draw: sensorFault('sensor-silent'),
  },
  {
    name: 'sensor stub iced',
    aim: { recall: 0.97, line: 1, cause: 0.95, delayS: 60 },
    watchS: 420,
    draw: sensorFault('sensor-iced', (dice) => dice.between(2, 10)),
  },
  { name: 'sensors swapped', aim: { recall: 0.97, line: 1, cause: 0.95, delayS: 60 }, watchS: 180, draw: swappedPair },
  {
    name: 'nothing wrong',
    aim: null,
    watchS: 1_500,
    draw: () => ({ deeds: [], answer: { causes: [], kin: [], subjects: [], places: [], flowM3s: null, leftS: null } }),
  },
];
