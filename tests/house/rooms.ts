/** The rooms of the house, what each may see besides itself, and who may have which library, built-in or clock. */
import type { Rooms } from './imports.ts';

const DIAGNOSIS = 'gateway/core/diagnosis';
const BELOW = ['config', 'gateway/core/statistics', 'gateway/core/hydraulics', 'gateway/core/telemetry'];
const upTo = (...rooms: readonly string[]): readonly string[] => [
  ...BELOW,
  ...rooms.map((room) => `${DIAGNOSIS}/${room}`),
];

/** Downhill only: nobody sees who sees him. Files in a room's own folder put its inner rooms together. */
export const ROOMS: Rooms = {
  config: [],
  'gateway/core/statistics': [],
  'gateway/core/hydraulics': ['config'],
  'gateway/core/telemetry': ['config'],
  [`${DIAGNOSIS}/model`]: upTo(),
  [`${DIAGNOSIS}/residuals`]: upTo('model'),
  [`${DIAGNOSIS}/causes`]: upTo('model', 'residuals'),
  [`${DIAGNOSIS}/isolation`]: upTo('model', 'residuals', 'causes'),
  [`${DIAGNOSIS}/pump`]: upTo('model', 'residuals', 'causes', 'isolation'),
  [`${DIAGNOSIS}/baseline`]: upTo('model', 'residuals', 'causes', 'isolation', 'pump'),
  [`${DIAGNOSIS}/supply`]: upTo('model', 'residuals', 'causes', 'isolation'),
  [`${DIAGNOSIS}/bursts`]: upTo('model', 'residuals', 'causes', 'isolation'),
  [`${DIAGNOSIS}/sensors`]: upTo('model', 'residuals', 'causes', 'isolation', 'pump', 'baseline'),
  [`${DIAGNOSIS}/states`]: upTo(
    ...['model', 'residuals', 'causes', 'isolation', 'pump', 'baseline', 'supply', 'bursts', 'sensors'],
  ),
  [DIAGNOSIS]: [...BELOW, DIAGNOSIS],
  'gateway/core/operations': ['config', 'gateway/core/telemetry', DIAGNOSIS],
  'gateway/core/alarms': ['config', DIAGNOSIS, 'gateway/core/operations'],
  'gateway/core': ['config', 'gateway/core'],
  'gateway/ingest/payloads': ['config', 'gateway/core/telemetry', 'gateway/ingest/refusal.ts'],
  'gateway/ingest/devices': [
    'config',
    'gateway/core/telemetry',
    'gateway/ingest/payloads',
    'gateway/ingest/refusal.ts',
  ],
  'gateway/ingest/transport': [
    'config',
    'gateway/ingest/payloads',
    'gateway/ingest/devices',
    'gateway/ingest/refusal.ts',
  ],
  'gateway/ingest': ['config', 'gateway/core/telemetry', 'gateway/ingest'],
  'gateway/journal': ['config', 'gateway/core/telemetry'],
  'gateway/replay': ['config', 'gateway/core/telemetry', 'gateway/ingest', 'gateway/journal', 'gateway/review'],
  'gateway/review': [
    'config',
    'gateway/core/hydraulics',
    'gateway/core/telemetry',
    'gateway/core/diagnosis',
    'gateway/journal',
  ],
  'gateway/access': ['config'],
  'gateway/server': ['config', 'gateway/access', 'gateway/replay', 'gateway/review'],
  'gateway/site': ['config', 'gateway/core', 'gateway/ingest', 'gateway/journal', 'gateway/replay'],
  'gateway/launch': [
    'config',
    'gateway/access',
    'gateway/core',
    'gateway/ingest',
    'gateway/journal',
    'gateway/replay',
    'gateway/review',
    'gateway/server',
    'gateway/site',
  ],
  simulator: ['config'],
  'ui/link': ['config'],
  ui: ['config', 'gateway/core/hydraulics', 'ui/link'],
};

/** Puts the rooms together and sees all of them; nobody imports it. */
export const MAIN = 'gateway/main.ts';

/** Who may have a package or a built-in: folders or files. */
export const IMPORTERS: Readonly<Record<string, readonly string[]>> = {
  mqtt: ['gateway/ingest/transport', 'simulator/devices.ts'],
  aedes: ['gateway/ingest/transport'],
  cborg: ['gateway/ingest/payloads'],
  '@bufbuild/protobuf': ['gateway/ingest/payloads'],
  'better-sqlite3': ['gateway/journal'],
  fastify: ['gateway/server'],
  '@fastify/static': ['gateway/server'],
  '@fastify/websocket': ['gateway/server'],
  ws: ['gateway/server'],
  typebox: ['config/wire', 'gateway/server'],
  yaml: ['config/layout', 'simulator/scenario.ts'],
  uplot: ['ui/charts'],
  'node:child_process': ['gateway/launch'],
  'node:fs': [
    'gateway/access',
    'gateway/journal',
    'gateway/launch',
    'gateway/replay/record',
    'gateway/server',
    'simulator/main.ts',
    'ui/keep/screen-list.ts',
  ],
  'node:http': ['gateway/server'],
  'node:https': ['gateway/server'],
  'node:net': ['gateway/server', 'gateway/ingest/transport'],
  'node:tls': ['gateway/ingest/transport'],
  'node:os': ['gateway/launch', 'gateway/replay/record'],
  'node:readline': ['gateway/access'],
  'node:stream': ['gateway/ingest/transport', 'gateway/review/desk', 'gateway/server'],
  'node:zlib': ['gateway/review/desk'],
};

/** What is called without being imported, and who may. */
export const CALLERS: Readonly<Record<string, { readonly call: RegExp; readonly folders: readonly string[] }>> = {
  timers: {
    call: /\bset(?:Timeout|Interval|Immediate)\b/,
    folders: [
      'gateway/ingest/transport',
      'gateway/launch',
      'gateway/replay/record',
      'gateway/review/desk',
      'gateway/server',
      'gateway/site/commit-pace.ts',
      'simulator/devices.ts',
      'ui/link',
      'ui/parts/frame',
      'ui/screens',
      'ui/state',
    ],
  },
  'a clock': {
    call: /\bDate\.now\b|\bnew Date\(\s*\)|\bperformance\b/,
    folders: [
      'gateway/ingest/transport/seats.ts',
      'gateway/launch',
      'gateway/replay/record',
      'gateway/review/desk',
      'gateway/server',
      'gateway/site',
      'simulator/devices.ts',
      'simulator/main.ts',
      'ui/link',
      'ui/parts/frame',
      'ui/state',
    ],
  },
  dice: { call: /\bMath\.random\b/, folders: ['gateway/ingest/transport', 'ui/link', 'ui/state'] },
};

/** Whole folders that see no clock, timer, die, file or socket: what they make depends on what they are given. */
export const PURE: readonly string[] = [
  'config/',
  'gateway/core/',
  'gateway/ingest/devices/',
  'gateway/ingest/payloads/',
  'gateway/launch/preflight-',
  'gateway/launch/sheet-text.ts',
  'gateway/replay/',
  'gateway/review/',
  'ui/charts/',
  'ui/parts/plan/',
  'ui/words/',
];
/** Inside those, the folders that do. */
export const IMPURE: readonly string[] = ['gateway/replay/record/', 'gateway/review/desk/'];
