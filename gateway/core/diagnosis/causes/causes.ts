/**
 * Every cause and where its physics is, and every cause at every place that a lay allows.
 *
 * In: layout, network, gauges. Out: hypotheses, always in the same order. The compiler asks for each cause: its
 * physics, or who sees it elsewhere.
 */
import type { Cause } from '../../../../config/causes/causes.ts';
import type { Layout } from '../../../../config/layout/layout.ts';
import type { Network } from '../../hydraulics/network.ts';
import type { Gauge } from '../model/gauge.ts';
import { checkValve } from './check-valve.ts';
import { gateShut } from './gate-shut.ts';
import { headOff } from './head-off.ts';
import { hoseBurst } from './hose-burst.ts';
import type { Hypothesis, Lay, Physics } from './hypothesis.ts';
import { leak } from './leak.ts';
import { plug } from './plug.ts';
import { pumpFade } from './pump-fade.ts';
import { restriction } from './restriction.ts';
import { sensorDrift } from './sensor-drift.ts';
import { suctionTrouble } from './suction-trouble.ts';
import { swappedSensors } from './swapped-sensors.ts';

/** A file of the diagnosis that finds and names it by a way of its own. */
interface SeenElsewhere {
  readonly seenBy: string;
}

export const PHYSICS: Readonly<Record<Cause, Physics | SeenElsewhere>> = {
  'head-off': headOff,
  plug,
  restriction,
  'hose-burst': hoseBurst,
  leak,
  'gate-shut': gateShut,
  'sensor-drift': sensorDrift,
  'sensor-swapped': swappedSensors,
  'pump-fade': pumpFade,
  'suction-trouble': suctionTrouble,
  'check-valve': checkValve,
  'head-stalled': { seenBy: 'bursts/rhythm-watch.ts' },
  shock: { seenBy: 'bursts/shock-watch.ts' },
  'pump-stop': { seenBy: 'pump/pump-watch.ts' },
  'dead-head': { seenBy: 'pump/pump-watch.ts' },
  'fuel-low': { seenBy: 'pump/pump-watch.ts' },
  'tank-low': { seenBy: 'supply/supply-watch.ts' },
  'tank-leak': { seenBy: 'supply/supply-watch.ts' },
  'tank-overfull': { seenBy: 'supply/supply-watch.ts' },
  'sensor-silent': { seenBy: 'sensors/sensor-findings.ts' },
  'sensor-stuck': { seenBy: 'sensors/sensor-findings.ts' },
  unexplained: { seenBy: 'isolation/finding.ts' },
};

const physics = Object.values(PHYSICS).filter((one): one is Physics => !('seenBy' in one));

export function hypothesesOf(layout: Layout, network: Network, gauges: readonly Gauge[]): Hypothesis[] {
  const lay: Lay = { layout, network, gauges };
  const ends = gauges.flatMap(({ kind }, index) => (kind === 'end' ? [index] : []));
  const each = <Each>(of: (one: Physics) => Each | readonly Each[] | undefined): Each[] =>
    physics.flatMap((one) => of(one) ?? []);
  return [
    ...layout.heads.flatMap((head, index) => each((one) => one.atHead?.(lay, head, index))),
    ...layout.hoses.flatMap((hose) => each((one) => one.atHose?.(lay, hose))),
    ...layout.gates.flatMap((gate) => each((one) => one.atGate?.(lay, gate))),
    ...gauges.flatMap((gauge, index) => each((one) => one.atGauge?.(lay, gauge, index))),
    ...each((one) => one.atEnds?.(lay, ends)),
    ...gauges.flatMap((gauge, index) => each((one) => one.atPumpGauge?.(lay, gauge, index))),
  ];
}
