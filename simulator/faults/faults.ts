/**
 * Everything that can be done to the plant: faults by the files of their causes, and normal life. In the order in which
 * the simulator lists them.
 *
 * Out: the kinds by name, and which causes no deed plays, with the reason. The compiler asks for every cause.
 */
import type { Cause } from '../../config/causes/causes.ts';
import { checkValveStuck } from './check-valve.ts';
import { deadHead } from './dead-head.ts';
import type { EventKind } from './event-kind.ts';
import { gateShut } from './gate-shut.ts';
import { headOff } from './head-off.ts';
import { headSlipped } from './head-slipped.ts';
import { headStalled } from './head-stalled.ts';
import { hoseBurned, hoseBurst } from './hose-burst.ts';
import { gasketWeep, leak } from './leak.ts';
import { cooling, gate, refuel, sensorBattery, shuttle, tender, throttle, wind } from './normal-life.ts';
import { plug, plugCreeping, theft } from './plug.ts';
import { pumpFade, pumpWorn } from './pump-fade.ts';
import { fuelOut, pumpStop } from './pump-stop.ts';
import { feederKinked, frozen, restriction } from './restriction.ts';
import { sensorDrift, sensorIced, sensorSilent, sensorStuck, sensorSwapped } from './sensors.ts';
import { sourceFalling, strainerClogging, suctionAirLeak, suctionTrouble } from './suction-trouble.ts';
import { tankLeak } from './tank-leak.ts';
import { refillLate } from './tank-low.ts';
import { tankOverfilled } from './tank-overfull.ts';

const KINDS = {
  'head-off': headOff,
  'head-slipped': headSlipped,
  'head-stalled': headStalled,
  plug,
  'plug-creeping': plugCreeping,
  'feeder-kinked': feederKinked,
  theft,
  leak,
  'gasket-weep': gasketWeep,
  'hose-burst': hoseBurst,
  'hose-burned': hoseBurned,
  restriction,
  frozen,
  'gate-shut': gateShut,
  'pump-fade': pumpFade,
  'pump-worn': pumpWorn,
  'pump-stop': pumpStop,
  'fuel-out': fuelOut,
  'dead-head': deadHead,
  'suction-trouble': suctionTrouble,
  'suction-air-leak': suctionAirLeak,
  'strainer-clogging': strainerClogging,
  'check-valve-stuck': checkValveStuck,
  'source-falling': sourceFalling,
  'tank-leak': tankLeak,
  'refill-late': refillLate,
  'tank-overfilled': tankOverfilled,
  'sensor-silent': sensorSilent,
  'sensor-stuck': sensorStuck,
  'sensor-iced': sensorIced,
  'sensor-drift': sensorDrift,
  'sensor-swapped': sensorSwapped,
  throttle,
  tender,
  shuttle,
  gate,
  refuel,
  cooling,
  wind,
  'sensor-battery': sensorBattery,
};

export const EVENT_KINDS: Readonly<Record<string, EventKind>> = KINDS;

type Played = (typeof KINDS)[keyof typeof KINDS]['causes'][number];

/** Causes that nobody starts: why not. */
export const NOT_PLAYED: Readonly<Record<Exclude<Cause, Played>, string>> = {
  'fuel-low': 'the tank of the engine empties as it runs',
  shock: 'comes of gates and pumps that are moved fast (shocks.ts)',
  unexplained: 'what two faults at once, or none of these, look like',
};
