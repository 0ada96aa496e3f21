/**
 * What can be done to the plant: the shape of a fault or of a deed of normal life, and what several of them share.
 *
 * In: plant, index of the place, size (null: back as it was), seconds since the start for those that creep. Sizes are
 * of the kind that `says` tells. Times of creeping are assumptions: no public record of how fast such faults grow was
 * found.
 */
import type { Cause } from '../../config/causes/causes.ts';
import type { Plant } from '../plant.ts';

export type PlaceKind = 'head' | 'hose' | 'place' | 'gate' | 'pump' | 'source' | 'sensor' | 'line' | 'site';

export interface EventKind {
  /** Right names of what it is, likeliest first; none: no cause names it. */
  readonly causes: readonly Cause[];
  readonly at: PlaceKind;
  readonly size: number;
  /** Largest size that means anything. */
  readonly most?: number;
  readonly says: string;
  /** Sets the plant; `size` null: back as it was. Creeping kinds get the seconds since their start at every second. */
  readonly set: (plant: Plant, index: number, size: number | null, elapsedS: number) => void;
  readonly creeps?: boolean;
  /** Ends by itself, so long after its start. */
  readonly endsAfterS?: (size: number) => number;
  /** Normal life: nothing in the truth track. */
  readonly normal?: boolean;
}

const OPEN_SHARE = 0.7;

/** Area of the open bore of a hose, m2. */
export function bore(plant: Plant, hose: number): number {
  return OPEN_SHARE * (Math.PI / 4) * plant.layout.hoses[hose]!.kit.boreM ** 2;
}

/** Index of the place at its far end. */
export function endOf(plant: Plant, hose: number): number {
  const { to } = plant.layout.hoses[hose]!;
  return plant.layout.places.findIndex((place) => place.id === to);
}

/** 0 at the start, 1 after `fullS`. */
export function grown(elapsedS: number, fullS: number): number {
  return Math.min(1, elapsedS / fullS);
}

export const nothing = (): void => undefined;
