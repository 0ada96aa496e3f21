/** Names of kit as a crew says them. */
import type { HeadFamily } from '../../config/kit/kit.ts';
import type { Mount, Quantity, Zone } from '../../config/layout/layout.ts';
import type { Mode } from '../../config/modes.ts';

export const FAMILIES: Record<HeadFamily, string> = {
  impact: 'impact head',
  rotator: 'gutter rotator',
  spinner: 'spinner',
};

export const MOUNTS: Record<Mount, string> = {
  'ground-spike': 'on a ground spike',
  'gable-bracket': 'on a gable bracket',
  post: 'on a post',
  gutter: 'in the gutter',
  ridge: 'over the ridge',
  deck: 'on the deck',
};

export const ZONES: Record<Zone, string> = { roof: 'roof', eave: 'eave', ground: 'ground' };

export const MODE_WORDS: Readonly<Record<Mode, string>> = {
  filling: 'Filling',
  refuelling: 'Refuelling',
  cycling: 'Cycling lines',
  draining: 'Draining',
};

/** Sent in bursts of fast samples: no line over hours to draw. */
export const isBurst = (quantity: Quantity): boolean => quantity === 'pulse' || quantity === 'motion';

/** US `48 US gpm`, so that nobody has to guess whose gallon it is. */
export const UNIT_NAMES = {
  us: 'US: psi, US gpm',
  imperial: 'Imperial: psi, Imp gpm',
  metric: 'Metric: kPa, L/min',
} as const;
