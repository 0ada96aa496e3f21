/**
 * Which causes are held back while people say that something is going on: what the work itself brings about, nothing
 * else.
 *
 * Common practice, no source. No hazard to people is ever held back (a test checks it). A mode ends by itself, and then
 * what still stands is flagged.
 */
import type { Cause, Mode } from './wire/wire.ts';

export const HELD_BACK: Record<Mode, readonly Cause[]> = {
  /** Lines fill one after the other, and the throttle is raised in steps. */
  filling: ['head-off', 'head-stalled', 'leak', 'plug', 'restriction', 'gate-shut', 'pump-fade', 'unexplained'],
  refuelling: ['pump-stop', 'pump-fade', 'fuel-low'],
  cycling: ['gate-shut', 'restriction'],
  draining: ['pump-stop', 'tank-low', 'tank-leak'],
};

/** Short names of the causes, as every sentence begins. */
export const CAUSE_NAMES: Record<Cause, string> = {
  'head-off': 'head off',
  'head-stalled': 'a head may have stopped turning, impact beat not detected',
  leak: 'leak',
  plug: 'nozzle plugged',
  restriction: 'hose restricted',
  'gate-shut': 'gate shut',
  'hose-burst': 'hose burst or parted',
  'pump-fade': 'pump fading',
  'pump-stop': 'pump stopped',
  'dead-head': 'deadheaded, running with no flow',
  'suction-trouble': 'suction trouble',
  'tank-low': 'tank low',
  'tank-leak': 'tank loses water that the pump does not draw',
  'tank-overfull': 'tank full to the rim',
  'fuel-low': 'fuel low',
  shock: 'a pressure shock passed, its light heads may be hurt',
  'sensor-silent': 'no data',
  'sensor-stuck': 'sensor stuck',
  'sensor-drift': 'sensor reads wrong',
  'sensor-swapped': 'reads what another gauge should',
  unexplained: 'not as modelled, no cause fits',
};
