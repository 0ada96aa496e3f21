/**
 * What cannot be seen for want of a gauge at a pump or of line ends, and what slow gauges cost: a sentence each.
 *
 * In: a layout, and which of its sensors are heard (all of them, before anything runs). Out: sentences; a dead-head
 * that cannot be seen comes first. Delays follow from the windows of dead-head.ts, baseline-spell.ts and
 * gauge-history.ts, in seconds, and count no lost reading.
 */
import type { Layout, Pump, Sensor } from '../../../../config/layout/layout.ts';
import { buildNetwork } from '../../hydraulics/network.ts';
import { asRigged } from '../../hydraulics/settings.ts';
import { BASELINE_READINGS, neededMs } from '../baseline/baseline-spell.ts';
import { kitBelief } from '../model/parameter-estimate.ts';
import { isShutIn, toldAfterMs } from '../pump/dead-head.ts';
import { Expectation } from '../model/expectation.ts';
import { gaugesOf, type Boundary } from '../model/gauge.ts';
import { mostFlowM3s } from '../model/pump-limit.ts';

export type Heard = (sensor: Sensor) => boolean;

/** Once a second or two is quick: nothing is said of it. */
const QUICK_S = 2.5;
/** Readings that name a trouble of the lay: the first that shows it, and two more. */
const NAMING_READINGS = 3;

interface Gauges {
  readonly flow: Sensor | undefined;
  readonly speed: Sensor | undefined;
  readonly discharge: Sensor | undefined;
  readonly ends: readonly Sensor[];
}

export function gaugeLimits(layout: Layout, isHeard: Heard = () => true): string[] {
  const ends = layout.sensors.filter((one) => one.line !== null && one.quantity === 'pressure' && isHeard(one));
  const told = layout.pumps.map((pump, index) => {
    const gauges = { ...gaugesAt(layout, pump, isHeard), ends };
    const lacks = (key: 'flow' | 'speed' | 'discharge'): string | null =>
      gauges[key] ? null : gaugesAt(layout, pump, () => true)[key] ? 'is not heard' : 'is missing';
    return {
      unseen: deadHeadUnseen(layout, index, gauges),
      rest: [...withoutGauges(pump, gauges, lacks), ...slowBox(pump, gauges)],
    };
  });
  return [...told.flatMap(({ unseen }) => unseen), ...told.flatMap(({ rest }) => rest), ...slowEnds(ends)];
}

function gaugesAt(layout: Layout, pump: Pump, isHeard: Heard): Omit<Gauges, 'ends'> {
  const at = (fits: (sensor: Sensor) => boolean): Sensor | undefined =>
    layout.sensors.find((one) => 'pump' in one.mounting && one.mounting.pump === pump.id && fits(one) && isHeard(one));
  return {
    flow: at(({ quantity }) => quantity === 'flow'),
    speed: at(({ quantity }) => quantity === 'rotation'),
    discharge: at(({ quantity, mounting }) => quantity === 'pressure' && mounting.kind === 'discharge'),
  };
}

function deadHeadUnseen(layout: Layout, pump: number, { flow, speed, discharge, ends }: Gauges): string[] {
  const { label } = layout.pumps[pump]!;
  const people = 'Only somebody who hears the engine can tell, from a distance.';
  if (!discharge) {
    if (speed && (flow || ends.length > 0))
      return [
        `A dead-head of ${label} cannot be told from lost prime without its discharge pressure: either ` +
          'is shown as a dead-head.',
      ];
    return [
      `A DEAD-HEAD OF ${label.toUpperCase()} CANNOT BE SEEN: it takes its discharge pressure, or its ` +
        `speed with flow or line ends. ${people}`,
    ];
  }
  if (flow || ends.length > 1) return [];
  if (ends.length === 1)
    return [
      `A dead-head of ${label} is told from its pressure and one line end: it is missed where the ` +
        'pressure does not rise.',
    ];
  return shutInShows(layout, pump, speed !== undefined)
    ? [`A dead-head of ${label} is told from its pressure alone: a trunk shut nearly tight looks the same.`]
    : [
        `A DEAD-HEAD OF ${label.toUpperCase()} CANNOT BE SEEN: without flow and line ends only its ` +
          `pressure could show it, and that is near shut-off anyway. ${people}`,
      ];
}

function withoutGauges(
  { label }: Pump,
  { ends }: Gauges,
  lacks: (key: 'flow' | 'speed' | 'discharge') => string | null,
): string[] {
  const [flow, speed, discharge] = [lacks('flow'), lacks('speed'), lacks('discharge')];
  return [
    ...(flow === null
      ? []
      : [
          `${label}: flow ${flow}, so leaks and plugs show in line-end pressures ` +
            `only${ends.length > 0 ? ', and a dead-head in its pressure and the line ends' : ''}.`,
        ]),
    ...(speed === null
      ? []
      : [
          `${label}: speed ${speed}, so an engine that fades is not seen, a stop and lost prime look ` +
            'alike, and pressure locked in behind a stopped pump looks like a dead-head.',
        ]),
    ...(discharge === null
      ? []
      : [
          `${label}: discharge pressure ${discharge}, so nothing can be expected of the lay and no ` +
            'trouble in it is named.',
        ]),
  ];
}

/** Of a pump's gauges that are read seldom. */
function slowBox({ label }: Pump, { flow, speed, discharge }: Gauges): string[] {
  const everyS = Math.max(0, ...[flow, speed, discharge].map((sensor) => sensor?.intervalS ?? 0));
  if (everyS <= QUICK_S) return [];
  const deadHeadS = Math.round(everyS + toldAfterMs(1_000 * everyS) / 1_000);
  return [
    `${label} is read every ${everyS} s: a dead-head is told up to ${deadHeadS} s after it begins, a ` +
      `trouble in the lay up to ${NAMING_READINGS * everyS} s after, and a baseline takes ` +
      `${Math.ceil(neededMs(1_000 * everyS) / 1_000)} s of steady running. What comes and goes within ` +
      `${everyS} s is not seen, nor what line ends did while the throttle moved.`,
  ];
}

function slowEnds(ends: readonly Sensor[]): string[] {
  const everyS = Math.max(0, ...ends.map(({ intervalS }) => intervalS));
  if (everyS <= QUICK_S) return [];
  return [
    `Line ends are read every ${everyS} s at the slowest: what only they show is named up to ` +
      `${NAMING_READINGS * everyS} s after it begins, a baseline takes ` +
      `${Math.ceil(neededMs(1_000 * everyS) / 1_000)} s (${BASELINE_READINGS} readings of each), and ice ` +
      'in a gauge fitting is not seen there.',
  ];
}

const known = new WeakMap<Layout, Map<string, boolean>>();

/** Whether shut-off pressure is one at which the lay as rigged would take far more than the pump can give. */
function shutInShows(layout: Layout, pump: number, speedHeard: boolean): boolean {
  const answers = known.get(layout) ?? new Map<string, boolean>();
  known.set(layout, answers);
  const key = `${pump} ${speedHeard}`;
  const answer = answers.get(key) ?? worksOutShutIn(layout, pump, speedHeard);
  answers.set(key, answer);
  return answer;
}

function worksOutShutIn(layout: Layout, pump: number, speedHeard: boolean): boolean {
  const network = buildNetwork(layout);
  const gauges = gaugesOf(layout, network);
  const expectation = new Expectation(layout, network, gauges);
  const { sourceLevelM, pumpSpeed, gateOpening } = asRigged(network);
  const suctionPa = expectation.pumpSides.map((side) => {
    const { staticPa } = side.suction(0, sourceLevelM[0]!);
    return Number.isFinite(staticPa) ? staticPa : 0;
  });
  const boundary: Boundary = {
    dischargePa: Float64Array.from(
      layout.pumps,
      (_, index) => expectation.pumpSides[index]!.rise(0, pumpSpeed[index]!).risePa + suctionPa[index]!,
    ),
    suctionPa: Float64Array.from(suctionPa),
    flowM3s: new Float64Array(layout.pumps.length).fill(NaN),
    speedRatio: speedHeard ? pumpSpeed : new Float64Array(layout.pumps.length).fill(NaN),
    levelM: sourceLevelM,
    gateOpening,
  };
  const belief = kitBelief(layout, network, gauges);
  const takesM3s = expectation.predict(belief, boundary)?.solution.pumpFlowM3s[pump] ?? NaN;
  return isShutIn(mostFlowM3s(expectation, belief, boundary)[pump]!, takesM3s);
}
