/**
 * The soonest that anybody could have seen a fault, from the noise of the sensors.
 *
 * In: the run's plant at the onset; what is done to it from then on. Out: the first second in which an observer has
 * even odds of having seen the fault, who knows the lay, the fault, its size and its onset exactly, hears every
 * reading, and raises one false alarm in 30 site-days. Two plants of the same seed and state go on side by side, both
 * with the run's chores, one with the fault. What their readings differ by without noise, in the noise of each,
 * squared, adds up. By Neyman and Pearson (1933, from memory) no test of the readings so far, with a chance p of a
 * false alarm, has even odds before the root of that sum is the normal deviate that is passed with chance p; and what
 * alarms falsely once in N seconds does so within the first t of them with chance t / N at most. Not Lorden's ln N over
 * the information a reading (Annals of Mathematical Statistics 42 (1971) 1897, from memory): that is the limit for N
 * without end and no bound at a finite one. A shift of one standard deviation with N = 168 would take 10.2 readings,
 * where the run length printed for cumulative sums is 8.38. Left out, and making it later: loss, gaps, waves, rounding,
 * drift, unknown hoses, other causes to tell it from. Left out, and making it sooner: bursts. The aims are stated for
 * pump sensors and one pressure a line end.
 */
import type { Layout } from '../../config/layout/layout.ts';
import { Deeds, type Deed } from '../../simulator/events.ts';
import { Plant } from '../../simulator/plant.ts';
import { valueOf } from './bound.ts';

/** The scorecard's aim. */
const FALSE_ALARM_S = 30 * 86_400;
export const QUANTITIES = ['pressure', 'flow', 'rotation', 'level', 'fuel'];
/** Do not shift what a sensor reads on average, or, like a tender that stays away, are no change. */
const NO_SHIFT = ['head-stalled', 'sensor-stuck', 'sensor-silent', 'sensor-swapped', 'refill-late'];

type Fault = Omit<Deed, 'do'>;

/** What else is done, so many seconds after the onset. */
export interface Later {
  readonly afterS: number;
  readonly deed: Deed;
}

/** Remembers the plant as it stands; null: never within the watch, or a fault that shifts no reading. */
export function soonestFrom(
  { layout, conditions, volumeM3, fuelM3 }: Plant,
  seed: number,
): (faults: readonly Fault[], chores: readonly Later[], watchS: number) => number | null {
  const then = structuredClone({ conditions, volumeM3, fuelM3 });
  const twin = (): Plant => {
    const plant = new Plant(layout, seed);
    for (const [name, values] of Object.entries(then.conditions))
      plant.conditions[name as keyof typeof conditions].set(values);
    plant.prime(then.conditions.throttle[0]!);
    plant.volumeM3.set(then.volumeM3);
    plant.fuelM3.set(then.fuelM3);
    return plant;
  };
  return (faults, chores, watchS) =>
    faults.length === 0 || faults.some(({ what }) => NO_SHIFT.includes(what))
      ? null
      : evenOddsS(shifts(layout, twin(), twin(), faults, chores, watchS));
}

/** First second whose sum of squared shifts is enough for even odds; null: none. */
export function evenOddsS(sums: Iterable<number>, falseAlarmS = FALSE_ALARM_S): number | null {
  let second = 0;
  for (const sum of sums) {
    second += 1;
    if (Math.sqrt(sum) >= normalDeviate(second / falseAlarmS)) return second;
  }
  return null;
}

/**
 * What a standard normal number passes with this chance. Abramowitz and Stegun 26.2.23, error below 4.5e-4 (from
 * memory; the test holds it to the table).
 */
export function normalDeviate(chance: number): number {
  const t = Math.sqrt(-2 * Math.log(Math.min(0.5, chance)));
  return t - (2.515517 + 0.802853 * t + 0.010328 * t ** 2) / (1 + 1.432788 * t + 0.189269 * t ** 2 + 0.001308 * t ** 3);
}

/** Sum of squared shifts up to every second of the watch. */
function* shifts(
  layout: Layout,
  healthy: Plant,
  faulty: Plant,
  faults: readonly Fault[],
  chores: readonly Later[],
  watchS: number,
): Generator<number> {
  const sides = [healthy, faulty].map((plant) => ({ plant, deeds: new Deeds(plant) }));
  const sick = sides[1]!.deeds;
  const sensors = layout.sensors.filter(({ quantity }) => QUANTITIES.includes(quantity));
  const locked = sensors.map((sensor) => valueOf(layout, healthy, sensor));
  // Nobody knows in which second of its interval a sensor speaks: the one that tells most counts.
  const sums = sensors.map(({ intervalS }) => new Float64Array(intervalS));
  for (const fault of faults) carry(sick, { ...fault, do: 'start' }, 0);
  for (let second = 1; second <= watchS; second += 1) {
    for (const { plant, deeds } of sides) {
      for (const { afterS, deed } of chores) if (afterS === second - 1) carry(deeds, deed, afterS);
      deeds.second(second * 1_000);
      plant.advance(1);
    }
    sensors.forEach((sensor, index) => {
      const fault = sick.sensorFault(sensor.id);
      const felt = fault?.kind === 'iced' ? locked[index]! : valueOf(layout, faulty, sensor);
      const crept = fault?.kind === 'iced' || fault?.kind === 'drift' ? (fault.size * 1_000 * second) / 60 : 0;
      sums[index]![second % sensor.intervalS]! +=
        ((felt + crept - valueOf(layout, healthy, sensor)) / sensor.noiseSd) ** 2;
    });
    yield sums.reduce((sum, own) => sum + Math.max(...own), 0);
  }
}

function carry(deeds: Deeds, deed: Deed, atS: number): void {
  const objection = deeds.carry(deed, atS * 1_000);
  if (objection) throw new Error(objection);
}
