/**
 * Pictures of the demo site in every condition that a screen must be able to show, without a gateway behind them.
 *
 * In: layout, condition, run time. Out: Picture, feed and series in SI. The numbers only look plausible; no physics.
 */
import type { Layout, Sensor } from '../../config/layout/layout.ts';
import type { DevicePicture, FeedPicture } from '../../config/wire/feed.ts';
import type { Series } from '../../config/wire/live.ts';
import type { ChannelPicture, HeadPicture, LinePicture, Picture, StructureTally } from '../../config/wire/wire.ts';
import type { Condition } from './fixture-conditions.ts';
import { alarmsOf, asideOf } from './fixture-alarms.ts';

const PA = 1_000;
const LPM = 1 / 60_000;

export function picture(layout: Layout, condition: Condition, atMs: number, simulated = true): Picture {
  const running = condition !== 'dry';
  const channels = layout.sensors.map((sensor) => channelPicture(sensor, condition, atMs));
  const lines = layout.lines.map((line, index) => linePicture(line.id, index, condition));
  const alarms = alarmsOf(layout, condition, atMs);
  const shown = (suffix: string): number | null =>
    channels.find((channel) => channel.channel === suffix)?.value ?? null;
  return {
    atMs,
    simulated,
    steady: null,
    advice:
      condition === 'no-advice'
        ? { working: false, sinceMs: atMs - 400_000, why: 'the model did not converge' }
        : { working: true },
    baseline:
      condition === 'healthy' || condition === 'faulty'
        ? {
            atMs: atMs - 5_400_000,
            by: 'KM',
            words: 'Bands narrowed to 4 kPa at line ends.',
            learned: [
              'The discharge of the heads of Line A: 2.1 % less than the kit says, within 1.9 % (the ' +
                'kit alone: 4.0 %).',
            ],
            alike: ['Of heads on one line only the sum is known, never which one is worn.'],
          }
        : null,
    mode: condition === 'filling' ? { name: 'filling', untilMs: atMs + 540_000, by: 'KM' } : null,
    channels,
    pumps: layout.pumps.map((pump) => ({
      pump: pump.id,
      state: running
        ? condition === 'filling'
          ? 'starting'
          : condition === 'hazard'
            ? 'dead-head'
            : 'running'
        : 'stopped',
      dischargePa: shown('discharge'),
      suctionPa: shown('suction'),
      flowM3s: shown('flow'),
      rotationHz: shown('speed'),
      fuelM3: shown('fuel'),
      fuelLeftS: running ? { best: 8_900, low: 7_400, high: 10_800 } : null,
    })),
    supplies: layout.sources.map((source) => ({
      source: source.id,
      volumeM3: 6.1,
      usableM3: 5.1,
      trendM3s: condition === 'filling' ? 0.004 : running ? -0.0061 : 0,
      filling: condition === 'filling',
      emptyInS:
        running && condition !== 'filling'
          ? {
              best: condition === 'faulty' ? 1_020 : 2_480,
              low: condition === 'faulty' ? 830 : 2_100,
              high: condition === 'faulty' ? 1_260 : 2_900,
            }
          : null,
      firstShort: null,
    })),
    lines,
    structures: layout.structures.map((structure) => {
      const line = lines.find((candidate) =>
        layout.heads.some((head) => head.structure === structure.id && head.line === candidate.line),
      )!;
      return {
        structure: structure.id,
        state: line.state,
        why: line.why,
        flowM3s: line.state === 'unknown' ? null : running ? 52 * LPM : 0,
        tally: {
          sinceMs: atMs - 7_200_000,
          receivedM3: 6.2,
          depthM: 0.011,
          dryS: line.state === 'down' ? 240 : 0,
          shortS: 60,
          unknownS: line.state === 'unknown' ? 900 : 0,
          zones: zonesOf(layout, structure.id),
        },
      };
    }),
    heads: layout.heads.map((head) => headPicture(head.id, head.line, lines, condition, atMs)),
    gates: layout.gates.map((gate) => ({
      gate: gate.id,
      opening: lines.some((line) => line.line === gate.line && line.state === 'shut-by-order') ? 0 : gate.opening,
    })),
    shocks: [],
    rhythms: [],
    alarms,
    setAside: asideOf(layout, condition, atMs),
    alarmLoad:
      condition === 'no-advice'
        ? null
        : {
            sinceMs: atMs - 9 * 3_600_000,
            lastHour: condition === 'faulty' ? 4 : 0,
            worstHour: 7,
            worstHourMs: atMs - 5 * 3_600_000,
            standing: alarms.filter(({ clearedMs }) => clearedMs === null).length,
            stale: 0,
            chattering: condition === 'faulty' ? ['silent:end-d-pressure'] : [],
            byPriority: { people: 0, high: 1, medium: 4, low: 13 },
          },
    notes: [
      { atMs: atMs - 300_000, words: 'portable pump: starting -> running', by: null },
      { atMs: atMs - 900_000, words: 'Tender due at the ramp in half an hour', by: 'KM' },
    ],
    blind: [
      ...(condition === 'healthy' || condition === 'faulty'
        ? []
        : ['No baseline yet: only large changes show. Small leaks and plugged nozzles cannot be seen.']),
      'A head that stalls but still flows: pressure and flow stay the same. Only eyes, or a motion sensor, can tell.',
      'Where the water lands: arc, wind, overspray and dry strips.',
    ],
  };
}

function zonesOf(layout: Layout, structure: string): StructureTally['zones'] {
  return (['roof', 'eave', 'ground'] as const)
    .filter((zone) => layout.heads.some((head) => head.structure === structure && head.zone === zone))
    .map((zone, index) => ({ zone, areaM2: 260, receivedM3: 1.1 + 0.9 * index }));
}

function usual(sensor: Sensor): number {
  switch (sensor.quantity) {
    case 'motion':
      return 0;
    case 'pulse':
      return 372 * PA;
    case 'pressure':
      return sensor.mounting.kind === 'discharge' ? 905 * PA : sensor.mounting.kind === 'suction' ? -9 * PA : 372 * PA;
    case 'flow':
      return 366 * LPM;
    case 'rotation':
      return 71;
    case 'level':
      return 0.46;
    case 'fuel':
      return 0.0082;
    case 'temperature':
      return 27;
  }
}

/** Slow wave plus a little noise that is the same for the same time. */
function wobble(sensor: Sensor, atMs: number): number {
  const seed = Math.sin(atMs / 977 + sensor.id.length * 7.1) * 43_758.5453;
  return (seed - Math.floor(seed) - 0.5) * 3 * sensor.noiseSd + Math.sin(atMs / 240_000) * 4 * sensor.noiseSd;
}

function channelPicture(sensor: Sensor, condition: Condition, atMs: number): ChannelPicture {
  const silent = condition === 'stale' || (condition === 'faulty' && sensor.id === 'end-d-pressure');
  const scale =
    condition === 'dry'
      ? 0
      : condition === 'filling'
        ? 0.35
        : condition === 'hazard' && sensor.quantity === 'flow'
          ? 0.01
          : 1;
  const expectable =
    !silent &&
    !['dry', 'filling', 'no-advice'].includes(condition) &&
    sensor.quantity !== 'temperature' &&
    sensor.quantity !== 'fuel' &&
    sensor.quantity !== 'level';
  const expected = expectable ? usual(sensor) : null;
  const half = 0.03 * Math.abs(usual(sensor)) + 4 * sensor.noiseSd;
  const dropPa =
    condition === 'faulty' && sensor.id === 'end-a-pressure'
      ? -96 * PA
      : condition === 'faulty' && sensor.id === 'end-c-pressure'
        ? 30 * PA
        : 0;
  const gain = condition === 'faulty' && sensor.quantity === 'flow' ? 34 * LPM : 0;
  const still = sensor.quantity === 'level' || sensor.quantity === 'fuel' || sensor.quantity === 'temperature';
  return {
    channel: sensor.id,
    quantity: sensor.quantity,
    value: usual(sensor) * (still ? 1 : scale) + dropPa + gain + wobble(sensor, atMs),
    atMs: silent ? atMs - 192_000 : atMs - 300,
    freshness: silent ? 'stale' : 'fresh',
    doubt: condition === 'faulty' && sensor.id === 'end-g-pressure' ? 'stuck' : null,
    expected,
    low: expected === null ? null : expected - half,
    high: expected === null ? null : expected + half,
  };
}

function linePicture(line: string, index: number, condition: Condition): LinePicture {
  switch (condition) {
    case 'stale':
      return { line, state: 'unknown', why: 'no fresh data from the pump' };
    case 'filling':
      return { line, state: 'filling', why: 'the lay is filling' };
    case 'dry':
      return { line, state: 'rigged-dry', why: 'rigged, pump not running' };
    case 'hazard':
      return { line, state: 'down', why: 'the pump turns against a shut lay: nothing flows' };
    case 'no-advice':
      return { line, state: 'unknown', why: 'nothing can be expected of it without the model' };
    case 'emergency':
      return { line, state: 'running-short', why: 'all of its heads below the pressure that turns them' };
    case 'healthy':
      return { line, state: 'as-modelled', why: 'pressure and flow match the baseline' };
    case 'faulty': {
      const all: LinePicture[] = [
        { line, state: 'changed', why: 'most likely cause: head off' },
        { line, state: 'as-modelled', why: 'pressure and flow match the baseline' },
        { line, state: 'running-short', why: '2 of its 4 heads under turning pressure' },
        { line, state: 'unknown', why: 'its line end has gone silent' },
        { line, state: 'as-modelled', why: 'pressure and flow match the baseline' },
        { line, state: 'shut-by-order', why: 'its gate is shut by order' },
        { line, state: 'down', why: 'no pressure at its end' },
      ];
      return all[index % all.length]!;
    }
  }
}

function headPicture(
  head: string,
  line: string,
  lines: readonly LinePicture[],
  condition: Condition,
  atMs: number,
): HeadPicture {
  const state = lines.find((candidate) => candidate.line === line)!.state;
  const believed: HeadPicture['state'] =
    condition === 'faulty' && head === 'a-3'
      ? 'off?'
      : condition === 'faulty' && head === 'c-3'
        ? 'plugged?'
        : condition === 'faulty' && head === 'e-3'
          ? 'over-pressure'
          : state === 'as-modelled' || state === 'changed'
            ? 'flowing'
            : state === 'running-short'
              ? 'short'
              : state === 'unknown' || state === 'filling'
                ? 'unknown'
                : 'dry';
  const wet = believed === 'flowing' || believed === 'short' || believed === 'off?';
  return {
    head,
    state: believed,
    pressurePa: wet ? 318 * PA : null,
    flowM3s: wet ? 14.2 * LPM : null,
    seenTurningMs:
      condition === 'healthy' || (condition === 'faulty' && head !== 'g-3')
        ? atMs - 5_400_000 - 600_000 * (head.charCodeAt(0) - 97)
        : null,
  };
}

/** One of each, the device at line C with the clock that was put right. */
const CLOCKS: readonly DevicePicture['clock'][] = [
  { state: 'right', offMs: -300 },
  { state: 'ahead', offMs: 240_000 },
  { state: 'wild', offMs: -1.78e12 },
  { state: 'behind', offMs: -190_000 },
  { state: 'jumping', offMs: 95_000 },
  { state: 'late', offMs: -660_000 },
];

export function feed(layout: Layout, atMs: number): FeedPicture {
  return {
    broker: { address: 'mqtt://127.0.0.1:1883', state: 'connected', sinceMs: atMs - 5_000_000 },
    devices: [...new Set(layout.sensors.map((sensor) => sensor.device))].map((device, index) => ({
      device,
      online: index === 3 ? false : index === 5 ? null : true,
      lastMs: atMs - 900,
      packets: 5_121 + index,
      battery: index === 2 ? { share: 0.34 } : index === 4 ? { volts: 3.61 } : null,
      clock: CLOCKS[index] ?? null,
      putRightMs: CLOCKS[index]?.state === 'behind' ? 190_000 : 0,
      lost: index === 1 ? 0.12 : index === 7 ? null : 0,
      refused: index === 2 ? [{ reason: 'ingest/bad-unit', count: 3 }] : [],
    })),
    rejected: [
      {
        reason: 'ingest/bad-unit',
        count: 3,
        lastMs: atMs - 30_000,
        topic: 'wetdown/larch-cove/end-b/senml',
        detail: "record 'pressure': unit 'psi' is not a SenML unit; send Pa",
      },
    ],
    assigned: [{ sensor: 'end-f-pressure', device: 'spare-2', record: 'pressure', by: 'KM', atMs: atMs - 600_000 }],
    tares: [{ sensor: 'end-b-pressure', offsetPa: 6_200, by: 'KM', atMs: atMs - 9_000_000 }],
    unknownDevices: [
      {
        device: 'borrowed-node',
        record: 'pressure',
        unit: 'Pa',
        fits: layout.sensors.filter(({ quantity }) => quantity === 'pressure').map(({ id }) => id),
        lastMs: atMs - 12_000,
        topic: 'wetdown/larch-cove/borrowed-node/senml',
        packet: '[{"bn":"borrowed-node:","n":"pressure","u":"Pa","v":401200}]',
      },
    ],
    journal: { state: 'writing', why: null, entries: { session: '', taken: 0, written: 0 } },
  };
}

/** With a hole of four minutes in it, so that a gap can be seen to stay a gap. */
export function series(layout: Layout, condition: Condition, channel: string, fromMs: number, toMs: number): Series {
  const sensor = layout.sensors.find((candidate) => candidate.id === channel)!;
  const stepMs = Math.max(1_000, Math.ceil((toMs - fromMs) / 1_500 / 1_000) * 1_000);
  const rows = Array.from({ length: Math.floor((toMs - fromMs) / stepMs) }, (_, index) => fromMs + index * stepMs);
  const pictures = rows.map((atMs) => channelPicture(sensor, toMs - atMs > 143_000 ? 'healthy' : condition, atMs));
  const hole = (atMs: number): boolean => toMs - atMs > 300_000 && toMs - atMs < 540_000;
  return {
    channel,
    atMs: rows,
    measured: pictures.map((row, index) => (hole(rows[index]!) || row.freshness !== 'fresh' ? null : row.value)),
    expected: pictures.map((row) => row.expected),
    low: pictures.map((row) => row.low),
    high: pictures.map((row) => row.high),
  };
}
