/**
 * The lays that the scorecard runs on: the two demonstration sites and three built ones, 8 to 120 heads.
 *
 * In: a name and a cadence. Out: a layout. Every lay has the sensors that the aims are stated for (pump box and one
 * pressure a line end); `cadence` says how often they speak: all once a second, or line ends and tank every 10 to 60 s.
 */
import type { PumpKit } from '../../config/kit/kit.ts';
import type { Layout, Sensor } from '../../config/layout/layout.ts';
import { headKitOf, hoseKitOf, LayoutBuilder, pumpKitOf } from '../support/layout-builder.ts';
import { siteLayout } from '../support/drive.ts';
import { withGauges } from './gauge-set.ts';

export type Cadence = 'fast' | 'slow';

/** Mixed kit, as a house gets it: one or two impact heads among light ones. */
const MIX = ['impact-1-2', 'rotator-large', 'spinner', 'rotator-small', 'impact-1-2'] as const;
const FEEDERS: Readonly<Record<(typeof MIX)[number], string>> = {
  'impact-1-2': 'feeder-16',
  'rotator-large': 'feeder-19',
  spinner: 'feeder-16',
  'rotator-small': 'feeder-16',
};

interface Shape {
  readonly lines: number;
  readonly headsALine: number;
  readonly trunkKit: string;
  readonly trunkM: number;
  readonly loop: boolean;
  /** Times the flow of the catalogue pump, at the same pressures. */
  readonly pumpSize: number;
  readonly lift: number;
}

/** A pump as strong as the lay needs: the curve of the catalogue pump over a wider flow. */
function pumpOf(size: number): PumpKit {
  const kit = pumpKitOf('portable-high-pressure');
  return {
    ...kit,
    id: `engine-pump-${size}`,
    curveFlowM3s: kit.curveFlowM3s.map((flow) => flow * size),
    fuelUseM3s: kit.fuelUseM3s * size,
  };
}

function built(site: string, shape: Shape): Layout {
  const builder = new LayoutBuilder();
  const side = 5 * Math.sqrt(Math.max(1, shape.pumpSize));
  builder.tank('tank', { shape: { kind: 'framed-tank', lengthM: side, widthM: side, depthM: 0.8 } });
  builder.place('p0', 0.8);
  const wide =
    shape.pumpSize > 1
      ? { ...hoseKitOf('suction-65'), boreM: 0.065 * Math.sqrt(shape.pumpSize) }
      : hoseKitOf('suction-65');
  builder.pump('pump', 'tank', 'p0', {
    kit: pumpOf(shape.pumpSize),
    elevationM: 0.8,
    suctionHose: wide,
    fuelCapacityM3: 0.02 * shape.pumpSize,
  });
  const trunk = hoseKitOf(shape.trunkKit);
  for (let line = 0; line < shape.lines; line += 1) {
    builder.place(`t${line}`, 0.8 + shape.lift * Math.sin((Math.PI * line) / shape.lines), 30 * line, 0);
    builder.hose(`trunk-${line}`, line === 0 ? 'p0' : `t${line - 1}`, `t${line}`, {
      kit: trunk,
      lengthM: shape.trunkM,
      fittingLossFactor: 0.8,
    });
  }
  if (shape.loop)
    builder.hose('trunk-back', `t${shape.lines - 1}`, 't0', {
      kit: trunk,
      lengthM: shape.trunkM * 2,
      fittingLossFactor: 1.5,
    });
  for (let line = 0; line < shape.lines; line += 1) addLine(builder, line, shape);
  builder.pumpBox('pump', 'tank');
  builder.sensor(
    'fuel',
    'fuel',
    { kind: 'pump', pump: 'pump' },
    { device: 'pump-box', max: 0.02 * shape.pumpSize, noiseSd: 1e-4, offsetSd: 3e-4, intervalS: 10 },
  );
  const layout = builder.build({ site, name: site });
  const flowMax = (800 / 60_000) * shape.pumpSize;
  // Level and flow ranges follow the tank and the pump.
  const sensors = layout.sensors.map((sensor) => {
    if (sensor.quantity === 'flow')
      return { ...sensor, max: flowMax, noiseSd: 0.004 * flowMax, offsetSd: 0.005 * flowMax };
    return sensor.quantity === 'level' ? { ...sensor, noiseSd: 0.003, offsetSd: 0.004 } : sensor;
  });
  return { ...layout, sensors };
}

function addLine(builder: LayoutBuilder, index: number, { headsALine, lift, lines }: Shape): void {
  const line = `line-${index}`;
  const base = 0.8 + lift * Math.sin((Math.PI * index) / lines);
  const spots = Math.ceil(headsALine / 2);
  builder.place(`l${index}-0`, base, 30 * index, 1);
  builder.gate(`thief-${index}`, `t${index}`, `l${index}-0`, { line });
  for (let spot = 1; spot <= spots; spot += 1) {
    builder.place(`l${index}-${spot}`, base + 0.3 * spot, 30 * index, 10 * spot);
    builder.hose(`l${index}-hose-${spot}`, `l${index}-${spot - 1}`, `l${index}-${spot}`, {
      kit: hoseKitOf('lined-25'),
      lengthM: 8 + 2 * ((index + spot) % 3),
      fittingLossFactor: 0.5,
      line,
    });
  }
  for (let head = 0; head < headsALine; head += 1) {
    const kit = MIX[(head + index) % MIX.length]!;
    builder.head(`l${index}-head-${head + 1}`, `l${index}-${Math.floor(head / 2) + 1}`, {
      kit: headKitOf(kit),
      feeder: hoseKitOf(FEEDERS[kit]),
      feederLengthM: 6 + ((3 * head + index) % 8),
      riseM: kit === 'spinner' ? 5 : 3,
      line,
      structure: `house-${index}`,
      mount: kit === 'impact-1-2' ? 'post' : kit === 'spinner' ? 'ridge' : 'gutter',
    });
  }
  builder.lineEnd(`end-${index}`, `l${index}-${spots}`, line, { label: `end of line ${index}` });
}

const LAYS: Readonly<Record<string, () => Layout>> = {
  'larch-cove': () => siteLayout('larch-cove'),
  'quarry-road': () => siteLayout('quarry-road'),
  'two-lines-8': () =>
    built('two-lines-8', {
      lines: 2,
      headsALine: 4,
      trunkKit: 'lined-38',
      trunkM: 30,
      loop: false,
      pumpSize: 0.4,
      lift: 3,
    }),
  'street-60': () =>
    built('street-60', {
      lines: 10,
      headsALine: 6,
      trunkKit: 'lined-65',
      trunkM: 25,
      loop: true,
      pumpSize: 2,
      lift: 6,
    }),
  'hamlet-120': () =>
    built('hamlet-120', {
      lines: 20,
      headsALine: 6,
      trunkKit: 'lined-65',
      trunkM: 25,
      loop: true,
      pumpSize: 4,
      lift: 8,
    }),
};

export const LAY_NAMES = Object.keys(LAYS);

/** A fast pressure sensor at every line end, with a burst every half minute. */
function pulses(layout: Layout): Sensor[] {
  return layout.sensors
    .filter(({ line, quantity }) => line !== null && quantity === 'pressure')
    .map((end) => ({
      ...end,
      id: `${end.id}-pulse`,
      label: `${end.label}, fast`,
      quantity: 'pulse',
      record: 'pulse',
      noiseSd: 300,
      offsetSd: 2_000,
      intervalS: 30,
    }));
}

/** `gauges`: other ones than usual (gauge-set.ts). */
export function scoreLay(name: string, cadence: Cadence, gauges = ''): Layout {
  const make = LAYS[name];
  if (!make) throw new RangeError(`There is no lay '${name}'. Lays: ${LAY_NAMES.join(', ')}.`);
  const layout = make();
  const usual = layout.sensors.filter(({ quantity }) => quantity !== 'pulse' && quantity !== 'motion');
  const sensors = [...usual, ...pulses(layout)].map((sensor, index) => {
    if (sensor.quantity === 'pulse') return sensor;
    const slow = sensor.line !== null || sensor.quantity === 'level';
    return {
      ...sensor,
      intervalS:
        cadence === 'fast' || !slow
          ? Math.min(sensor.intervalS, sensor.quantity === 'fuel' || sensor.quantity === 'temperature' ? 10 : 1)
          : [10, 20, 30, 60][index % 4]!,
    };
  });
  return withGauges({ ...layout, sensors }, gauges);
}
