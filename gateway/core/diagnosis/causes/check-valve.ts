/**
 * A check valve at a pump's outlet that does not hold: once the pump stops, the lay drains back into the source.
 *
 * In: the discharge pressure while the pump stands still, Pa. Out: whether the lay holds what it should. A lay whose
 * water can only run out through its heads keeps water up to the lowest of them, whichever gates are shut; what is gone
 * from there has left another way. That way is the pump, or an opening below the lowest head: only a vacuum, which an
 * opening would let air into, tells the two apart.
 * Limit: seen after a stop only, by a gauge on the hose side of the valve, and only where the lowest head stands high
 * enough over the outlet for the gauge to tell; how much the valve passes is not seen, nor a valve that leaks slower
 * than the pump stands still.
 */
import type { Layout, Pump, Sensor } from '../../../../config/layout/layout.ts';
import { show } from '../../../../config/units.ts';
import { PA_PER_M } from '../../hydraulics/constants.ts';
import { ELEVATION_SD_PA } from '../model/parameter-estimate.ts';
import type { Physics } from './hypothesis.ts';
import type { AtRest } from './standstill.ts';

/** Gone from what it holds by so many standard deviations; held within so many. Judgement. */
const GONE_SD = 4;
const HELD_SD = 2;
/** Judgement: of causes that look the same, the one that is told first; and where only one fits. */
const LIKELIER = 0.6;
const SURE = 0.95;
const LEAKS = 0.3;

export const checkValve: Physics = {
  atRest: {
    unseen: (layout, pump, discharge) => {
      if (!pump.checkValve) return null;
      if (!canDrain(layout, pump)) return 'its water comes under pressure';
      if (!discharge) return 'no gauge at its discharge is heard';
      const { holdsPa, sdPa } = heldAt(layout, pump, discharge);
      if (holdsPa > GONE_SD * sdPa) return null;
      const [holds, needs] = [holdsPa, GONE_SD * sdPa].map((pa) => show(pa, 'pressure', layout.units));
      return (
        `its lowest head keeps ${holds!.text} ${holds!.unit} on the outlet, and the gauge shows no less ` +
        `than ${needs!.text}`
      );
    },
    judge: (layout, pump, discharge, dischargePa) => {
      if (!pump.checkValve || !canDrain(layout, pump)) return null;
      const { holdsPa, sdPa } = heldAt(layout, pump, discharge);
      const tolerancePa = GONE_SD * sdPa;
      if (holdsPa <= tolerancePa) return null;
      return {
        says: saidBy(dischargePa, holdsPa, sdPa),
        expectedPa: holdsPa,
        tolerancePa,
        ...(dischargePa < -tolerancePa ? { probability: SURE, rivals: [] } : orElse(discharge.id)),
      };
    },
  },
};

function saidBy(dischargePa: number, holdsPa: number, sdPa: number): AtRest['says'] {
  if (dischargePa < holdsPa - GONE_SD * sdPa) return 'gone';
  return dischargePa > holdsPa - HELD_SD * sdPa ? 'held' : 'nothing';
}

/** An opening below the lowest head lets the water out as well, and a gauge whose zero has moved shows the same. */
function orElse(gauge: string): Pick<AtRest, 'probability' | 'rivals'> {
  return {
    probability: LIKELIER,
    rivals: [
      { cause: 'leak', subject: 'trunk', place: 'trunk', probability: LEAKS },
      { cause: 'sensor-drift', subject: gauge, place: gauge, probability: 1 - LIKELIER - LEAKS },
    ],
  };
}

/** Neither a main nor another pump pushes against it. */
function canDrain({ sources }: Layout, { source, inlet }: Pump): boolean {
  return inlet === null && sources.some(({ id, mains }) => id === source && mains === null);
}

/**
 * What water up to the lowest head makes at the outlet, Pa, and how surely that is known with this gauge: the head and
 * the outlet each lie somewhat higher or lower than the layout says.
 */
function heldAt(
  { heads, places }: Layout,
  { outlet }: Pump,
  { offsetSd, noiseSd }: Sensor,
): Record<'holdsPa' | 'sdPa', number> {
  const outletM = places.find(({ id }) => id === outlet)!.elevationM;
  const lowestM = Math.min(...heads.map(({ elevationM }) => elevationM));
  return {
    holdsPa: PA_PER_M * (lowestM - outletM),
    sdPa: Math.hypot(offsetSd, noiseSd, ELEVATION_SD_PA, ELEVATION_SD_PA),
  };
}
