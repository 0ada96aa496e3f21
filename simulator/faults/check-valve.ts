/**
 * The check valve at a pump's outlet stays open: while the pump stands still, the plant lets water back through it
 * (plant/pumps.ts). A pump above its water loses its prime with it, so that the next start pumps air. Repair: the seat
 * is clean, and the pump is primed.
 */
import type { Plant } from '../plant.ts';
import type { EventKind } from './event-kind.ts';

/** From a stop until the suction has run empty. Assumption. */
const PRIME_LOST_S = 60;
/** A pump below this speed stands still. */
const STILL_SPEED = 0.03;

export const checkValveStuck = {
  causes: ['check-valve'],
  at: 'pump',
  size: 1,
  creeps: true,
  says: 'the non-return valve stays open: the lay drains back when the pump stops',
  set: (plant, at, size) => {
    plant.conditions.valveStuck[at] = size === null ? 0 : 1;
    if (size === null) plant.conditions.suctionAir[at] = 0;
    else if (losesPrime(plant, at))
      plant.conditions.suctionAir[at] = Math.min(1, plant.conditions.suctionAir[at]! + 1 / PRIME_LOST_S);
  },
} as const satisfies EventKind;

/** It stands still above its water: what hangs in the suction falls back as the lay has drained. */
function losesPrime(plant: Plant, at: number): boolean {
  const { checkValve, elevationM, source } = plant.layout.pumps[at]!;
  const water = plant.layout.sources.findIndex(({ id }) => id === source);
  const surfaceM = plant.layout.sources[water]!.elevationM + plant.levelM(water);
  return checkValve && plant.speedRatio[at]! < STILL_SPEED && elevationM > surfaceM;
}
