/** Classes of trouble at the pump and its water. */
import type { FaultClass } from './fault-class.ts';
import { named, pumpFault, reachableM3 } from './fault-draws.ts';

/** Lowest head over the outlet from which on an empty lay shows at the pump's gauge, m. */
const SHOWS_M = 3;

export const SUPPLY_CLASSES: readonly FaultClass[] = [
  {
    name: 'engine loses speed',
    aim: { recall: 0.99, line: null, cause: 0.95, delayS: 15 },
    watchS: 150,
    draw: pumpFault('pump-fade', (dice) => dice.between(0.7, 0.85)),
  },
  {
    name: 'pump worn or fouled',
    aim: { recall: 0.99, line: null, cause: 0.95, delayS: 15 },
    watchS: 120,
    draw: pumpFault('pump-worn', (dice) => dice.between(0.75, 0.9)),
  },
  {
    name: 'engine stops',
    aim: { recall: 0.99, line: null, cause: 0.95, delayS: 15 },
    watchS: 90,
    draw: pumpFault('pump-stop'),
  },
  {
    name: 'dead-head',
    aim: { recall: 0.99, line: null, cause: 0.95, delayS: 15 },
    watchS: 90,
    draw: pumpFault('dead-head'),
  },
  {
    name: 'suction loses prime',
    aim: { recall: 0.99, line: null, cause: 0.95, delayS: 15 },
    watchS: 90,
    draw: pumpFault('suction-trouble', (dice) => dice.between(0.7, 0.95)),
  },
  {
    name: 'suction draws air',
    aim: { recall: 0.99, line: null, cause: 0.95, delayS: 15 },
    watchS: 300,
    draw: pumpFault('suction-air-leak', (dice) => dice.between(0.3, 0.6)),
  },
  {
    name: 'strainer clogs',
    aim: { recall: 0.99, line: null, cause: 0.95, delayS: 15 },
    watchS: 660,
    draw: pumpFault('strainer-clogging', (dice) => dice.between(20, 60)),
  },
  {
    name: 'can runs out',
    aim: { recall: 0.99, line: null, cause: 0.95, delayS: 15 },
    watchS: 240,
    // A few seconds' worth, so that the engine stops at the onset.
    draw: (layout, plant, dice) =>
      pumpFault('fuel-out', () => dice.between(1, 4) * layout.pumps[0]!.kit.fuelUseM3s * 1_000)(layout, plant, dice),
  },
  {
    name: 'source falls',
    aim: { recall: 0.99, line: null, cause: 0.95, delayS: 15 },
    water: 'open',
    watchS: 600,
    draw: (layout, _plant, dice) => {
      const source = layout.sources.find(({ shape }) => shape.kind === 'open-water');
      return source
        ? {
            deeds: [{ what: 'source-falling', at: source.id, size: dice.between(0.1, 0.5) }],
            answer: { ...named('source-falling', [source.id, layout.pumps[0]!.id]), kin: [] },
          }
        : null;
    },
  },
  {
    // No gateway knows when a tender was to come. What is true is how long the water lasts without it.
    name: 'refill late',
    aim: null,
    water: 'tank',
    minutesLeft: [28, 40],
    watchS: 600,
    draw: (layout, plant) => {
      const source = layout.sources.findIndex(({ shape }) => shape.kind !== 'open-water');
      const at = layout.sources[source]?.id;
      if (at === undefined) return null;
      const litres = 3 * plant.pumpFlowM3s[0]! * 60_000;
      return {
        deeds: [
          { what: 'shuttle', at, size: litres },
          { what: 'refill-late', at, size: 120 },
        ],
        answer: { ...named('refill-late', [at]), leftS: (now) => reachableM3(now, source) / now.pumpFlowM3s[0]! },
      };
    },
  },
  {
    name: 'tank overfilled',
    aim: null,
    water: 'tank',
    watchS: 900,
    draw: (layout, plant) => {
      const source = layout.sources.find(({ shape }) => shape.kind !== 'open-water');
      if (!source || !layout.sensors.some(({ quantity }) => quantity === 'level')) return null;
      return {
        deeds: [{ what: 'tank-overfilled', at: source.id, size: 4 * plant.pumpFlowM3s[0]! * 60_000 }],
        answer: named('tank-overfilled', [source.id]),
      };
    },
  },
  {
    name: 'tank leaks 2-6 % of flow',
    aim: { recall: 0.95, line: null, cause: 0.9, delayS: 600 },
    water: 'tank',
    leadS: 900,
    watchS: 1_200,
    draw: (layout, plant, dice) => {
      const source = layout.sources.find(({ shape }) => shape.kind !== 'open-water');
      if (!source || !layout.sensors.some(({ quantity }) => quantity === 'level')) return null;
      return {
        deeds: [{ what: 'tank-leak', at: source.id, size: dice.between(0.02, 0.06) * plant.pumpFlowM3s[0]! * 60_000 }],
        answer: named('tank-leak', [source.id]),
      };
    },
  },
  {
    // Its lowest head must stand high enough over the outlet: elsewhere the screen says that it cannot be seen.
    name: 'check valve leaks back',
    aim: { recall: 0.95, line: null, cause: 0.9, delayS: 60 },
    watchS: 150,
    draw: (layout) => {
      const { id, outlet } = layout.pumps[0]!;
      const outletM = layout.places.find((place) => place.id === outlet)!.elevationM;
      if (Math.min(...layout.heads.map(({ elevationM }) => elevationM)) < outletM + SHOWS_M) return null;
      return {
        deeds: [
          { what: 'check-valve-stuck', at: id },
          { what: 'pump-stop', at: id },
        ],
        answer: { ...named('check-valve-stuck', [id]), besides: ['pump-stop'] },
      };
    },
  },
];
