/**
 * Every cause at every place that this lay allows: what it does to the network, which sizes it may have, and how
 * common it is before any data.
 *
 * A network cause changes the solver's settings; a gauge cause moves readings only. Sizes are dimensionless handles:
 * leak and burst: coefficient over that of the hose's open bore; plug: share of the nozzle shut; restriction: extra
 * resistance over the hose's own; gauge causes: standard deviations of the gauge's offset before a baseline.
 */
import { type Cause, CAUSES } from '../../../../config/causes/causes.ts';
import type { Layout } from '../../../../config/layout/layout.ts';
import { PA_PER_M } from '../../hydraulics/constants.ts';
import type { Parameter } from '../../hydraulics/sensitivity.ts';
import { restLevelM, sourceDepthM } from '../../hydraulics/source.ts';
import type { Network } from '../../hydraulics/network.ts';
import type { Settings } from '../../hydraulics/settings.ts';
import type { Gauge } from '../model/gauge.ts';

export interface Hypothesis {
  readonly cause: Cause;
  /** Head, hose, place, gate, pump or channel it sits at. */
  readonly place: string;
  readonly subject: string;
  readonly subjectKind: 'line' | 'trunk' | 'pump' | 'source' | 'channel';
  /** How common it is, relative to the others. Judgement throughout: no public failure statistics were found. */
  readonly weight: number;
  /** Fixed: the kit says how large it is, within `spread` (relative). Sized: fitted between `low` and `high`. */
  readonly size:
    | { readonly fixed: true; readonly spread: number }
    | { readonly fixed: false; readonly low: number; readonly high: number };
  readonly effect:
    | {
        readonly kind: 'network';
        readonly apply: (settings: Settings, size: number) => void;
        readonly slope: Slope | null;
      }
    /** The gauge reads off by size x `unit` (SI), and so does every expectation that leans on it. */
    | { readonly kind: 'offset'; readonly gauge: number; readonly unit: number }
    /** What the gauges measure truly changed by size x `unit`; nothing else leans on the old values. */
    | { readonly kind: 'shift'; readonly moves: readonly { readonly gauge: number; readonly unit: number }[] }
    /** Two gauges each read what the other should (traded.ts). */
    | { readonly kind: 'swap'; readonly gauges: readonly [number, number] };
  /** Index of the gate that this is the ordered move of: nothing is wrong then. */
  readonly moves?: number;
}

/** Derivative at size zero: the parameter and its change for a unit of size. */
export interface Slope {
  readonly parameter: Parameter;
  readonly perSize: number;
}

export function keyOf(cause: Cause, subject: string): string {
  return `${CAUSES[cause].family ?? cause}:${subject}`;
}

/** sqrt(2 / rho), water at 1000 kg/m3: discharge velocity per sqrt(Pa). */
const JET = Math.sqrt(2 / 1_000);
/** Judgement: a hole or a torn end passes about this share of the ideal jet. */
const OPEN_DISCHARGE = 0.7;

/** K of a hose's whole bore open to the air, m3/s per sqrt(Pa). */
export function openEndK(boreM: number): number {
  return OPEN_DISCHARGE * (Math.PI / 4) * boreM ** 2 * JET;
}

export function hypothesesOf(layout: Layout, network: Network, gauges: readonly Gauge[]): Hypothesis[] {
  return [
    ...headCauses(layout, network),
    ...hoseCauses(layout, network),
    ...gateCauses(layout, network),
    ...gauges.flatMap((gauge, index) => gaugeCauses(gauge, index)),
    ...swapCauses(gauges),
    ...pumpSideCauses(layout, gauges),
  ];
}

/**
 * Judgement: whoever was told to move a gate mostly does; while a line fills or runs empty it draws up to a third more
 * or less than it will.
 */
const ORDERED_WEIGHT = 1_000;
const ORDERED_SPREAD = 0.3;

/** A gate that was ordered to another position has been moved. */
export function orderedMove(layout: Layout, gate: number, opening: number): Hypothesis {
  const { id, line } = layout.gates[gate]!;
  return {
    cause: 'gate-shut',
    place: id,
    subject: line ?? 'trunk',
    subjectKind: line === null ? 'trunk' : 'line',
    weight: ORDERED_WEIGHT,
    size: { fixed: true, spread: ORDERED_SPREAD },
    moves: gate,
    effect: {
      kind: 'network',
      slope: null,
      apply: (settings) => {
        settings.gateOpening[gate] = opening;
      },
    },
  };
}

function headCauses(layout: Layout, network: Network): Hypothesis[] {
  return layout.heads.flatMap((head, index): Hypothesis[] => {
    const where = { place: head.id, subject: head.line, subjectKind: 'line' as const };
    return [
      {
        ...where,
        cause: 'head-off',
        weight: head.kit.light ? 1 : 0.15,
        size: { fixed: true, spread: 0.12 },
        effect: {
          kind: 'network',
          slope: null,
          apply: (settings) => {
            settings.headOff[index] = 1;
          },
        },
      },
      {
        ...where,
        cause: 'plug',
        weight: 0.5,
        size: { fixed: false, low: 0.08, high: 1 },
        effect: {
          kind: 'network',
          slope: { parameter: { kind: 'head-factor', head: index }, perSize: -1 },
          apply: (settings, size) => {
            settings.headFactor[index]! *= 1 - Math.min(1, size);
          },
        },
      },
      leakAt(network.nodeOfHead.get(head.id)!, head.feeder.boreM, { ...where, weight: 0.1 }),
    ];
  });
}

function leakAt(
  node: number,
  boreM: number,
  where: Pick<Hypothesis, 'place' | 'subject' | 'subjectKind' | 'weight'>,
): Hypothesis {
  const open = openEndK(boreM);
  return {
    ...where,
    cause: 'leak',
    size: { fixed: false, low: 0.001, high: 0.35 },
    effect: {
      kind: 'network',
      slope: { parameter: { kind: 'leak', node }, perSize: open },
      apply: (settings, size) => {
        settings.leakK[node]! += size * open;
      },
    },
  };
}

function hoseCauses(layout: Layout, network: Network): Hypothesis[] {
  return layout.hoses.flatMap((hose): Hypothesis[] => {
    const trunk = hose.line === null;
    const where = {
      place: hose.id,
      subject: hose.line ?? 'trunk',
      subjectKind: trunk ? ('trunk' as const) : ('line' as const),
    };
    const pipe = network.pipeOfHose.get(hose.id)!;
    const node = network.nodeOfPlace.get(hose.to)!;
    const open = openEndK(hose.kit.boreM);
    return [
      {
        ...where,
        cause: 'restriction',
        weight: 0.3,
        size: { fixed: false, low: 0.3, high: 1e5 },
        effect: {
          kind: 'network',
          slope: { parameter: { kind: 'hose-factor', pipe }, perSize: 1 },
          apply: (settings, size) => {
            settings.hoseFactor[pipe]! *= 1 + size;
          },
        },
      },
      {
        ...where,
        cause: 'hose-burst',
        weight: 0.1,
        size: { fixed: true, spread: 0.35 },
        effect: {
          kind: 'network',
          slope: null,
          apply: (settings) => {
            settings.leakK[node]! += open;
          },
        },
      },
      leakAt(node, hose.kit.boreM, { ...where, weight: 0.4 }),
    ];
  });
}

function gateCauses(layout: Layout, network: Network): Hypothesis[] {
  return layout.gates.map((gate): Hypothesis => {
    const index = network.gateIndex.get(gate.id)!;
    return {
      cause: 'gate-shut',
      place: gate.id,
      subject: gate.line ?? 'trunk',
      subjectKind: gate.line === null ? 'trunk' : 'line',
      weight: 0.7,
      size: { fixed: true, spread: 0.03 },
      effect: {
        kind: 'network',
        slope: null,
        apply: (settings) => {
          settings.gateOpening[index] = 0;
        },
      },
    };
  });
}

function gaugeCauses(gauge: Gauge, index: number): Hypothesis[] {
  const { sensor } = gauge;
  const drift = (sign: 1 | -1): Hypothesis => ({
    cause: 'sensor-drift',
    place: sensor.id,
    subject: sensor.id,
    subjectKind: 'channel',
    weight: 0.2,
    size: { fixed: false, low: 0.5, high: 200 },
    effect: { kind: 'offset', gauge: index, unit: sign * Math.max(sensor.offsetSd, 2 * sensor.noiseSd) },
  });
  return [drift(1), drift(-1)];
}

/** Any two line ends, wired or named the wrong way round. */
function swapCauses(gauges: readonly Gauge[]): Hypothesis[] {
  const ends = gauges.flatMap(({ kind }, index) => (kind === 'end' ? [index] : []));
  return ends.flatMap((one, at) =>
    ends.slice(at + 1).map((other): Hypothesis => {
      const { id } = gauges[one]!.sensor;
      return {
        cause: 'sensor-swapped',
        place: gauges[other]!.sensor.id,
        subject: id,
        subjectKind: 'channel',
        weight: 0.1 / ends.length,
        size: { fixed: true, spread: 0 },
        effect: { kind: 'swap', gauges: [one, other] },
      };
    }),
  );
}

/**
 * Judgement: wear and fouling take up to this share of a pump's rise before somebody stops it; air takes from little to
 * all.
 */
const MOST_WEAR = 0.3;
const LEAST_AIR = 0.03;
const MOST_AIR = 1;
/** Air that takes a share of the rise takes about half that share off the weight of the water in the suction. */
const AIR_IN_SUCTION = 0.5;

/**
 * Causes on the pump's own side: they leave the network alone. Wear and fouling take rise; a strainer that clogs shows
 * as more vacuum; air in the suction takes rise and, since the column is lighter, some of the vacuum.
 */
function pumpSideCauses(layout: Layout, gauges: readonly Gauge[]): Hypothesis[] {
  return gauges.flatMap((gauge, index): Hypothesis[] => {
    const pump = layout.pumps[gauge.pump]!;
    if (gauge.kind !== 'rise' && gauge.kind !== 'suction') return [];
    const unit = Math.max(gauge.sensor.offsetSd, 2 * gauge.sensor.noiseSd);
    const about = { place: pump.id, subject: pump.id, subjectKind: 'pump' as const };
    if (gauge.kind === 'suction') {
      return [
        {
          ...about,
          cause: 'suction-trouble',
          weight: 1,
          size: { fixed: false, low: 0.5, high: 500 },
          effect: { kind: 'shift', moves: [{ gauge: index, unit: -unit }] },
        },
      ];
    }
    const risePa = Math.max(...pump.kit.curveRisePa);
    const suction = gauges.findIndex((other) => other.kind === 'suction' && other.pump === gauge.pump);
    const source = layout.sources.find(({ id }) => id === pump.source)!;
    const liftPa =
      PA_PER_M *
      Math.max(
        0,
        pump.elevationM -
          source.elevationM -
          (source.mains === null ? 0.5 * sourceDepthM(source.shape) : restLevelM(source)),
      );
    const air = [
      { gauge: index, unit: -risePa },
      ...(suction < 0 ? [] : [{ gauge: suction, unit: AIR_IN_SUCTION * liftPa }]),
    ];
    return [
      {
        ...about,
        cause: 'pump-fade',
        weight: 1,
        size: { fixed: false, low: 0.5, high: (MOST_WEAR * risePa) / unit },
        effect: { kind: 'shift', moves: [{ gauge: index, unit: -unit }] },
      },
      {
        ...about,
        cause: 'suction-trouble',
        weight: 0.62,
        size: { fixed: false, low: LEAST_AIR, high: MOST_AIR },
        effect: { kind: 'shift', moves: air },
      },
    ];
  });
}
