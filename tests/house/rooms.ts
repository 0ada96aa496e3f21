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
  svelte: ['ui'],
  uplot: ['ui/charts'],
  vite: ['ui/vite.config.ts', 'ui/keep/screen-list.ts'],
  '@sveltejs/vite-plugin-svelte': ['ui/vite.config.ts'],
  'node:child_process': ['gateway/launch'],
  'node:crypto': [
    'gateway/access',
    'gateway/ingest/devices/duplicates.ts',
    'gateway/ingest/transport',
    'gateway/journal',
    'gateway/launch/ready.mjs',
    'gateway/review/desk',
    'gateway/server',
    'ui/keep/screen-list.ts',
  ],
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
  'node:path': [
    'gateway/access',
    'gateway/journal',
    'gateway/launch',
    'gateway/replay/record',
    'gateway/server',
    'ui/keep/screen-list.ts',
    'ui/vite.config.ts',
  ],
  'node:url': ['gateway/launch/ready.mjs'],
  'node:util': ['gateway/access', 'gateway/launch', 'simulator/main.ts'],
  'node:os': ['gateway/launch', 'gateway/replay/record'],
  'node:readline': ['gateway/access'],
  'node:stream': ['gateway/ingest/transport', 'gateway/review/desk', 'gateway/server'],
  'node:zlib': ['gateway/review/desk'],
};

const CRYPTO_DICE = [
  'randomInt',
  'randomBytes',
  'randomUUID',
  'randomFill',
  'randomFillSync',
  'pseudoRandomBytes',
  'getRandomValues',
  'generateKey',
  'generateKeySync',
  'generateKeyPair',
  'generateKeyPairSync',
  'webcrypto',
];

/** Names through which code reaches what changes under it, and who may use them as values, in whatever form. */
export const REACHES: Readonly<
  Record<string, { readonly names: readonly string[]; readonly folders: readonly string[] }>
> = {
  'a timer': {
    names: ['setTimeout', 'setInterval', 'setImmediate', 'requestAnimationFrame', 'requestIdleCallback'],
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
  // Of Date not: `new Date(x)`, `Date.UTC`, `Date.parse`.
  'a clock': {
    names: ['Date', 'Temporal', 'performance', 'hrtime'],
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
  // Of Math only what is not `Math.NAME`, and `Math.random`.
  dice: {
    names: ['Math', ...CRYPTO_DICE],
    folders: ['gateway/access', 'gateway/ingest/transport', 'gateway/journal/journal.ts', 'ui/link', 'ui/state'],
  },
  // Through which every other name is reached unseen.
  'the global object or code made of text': { names: ['globalThis', 'global', 'eval', 'Function'], folders: [] },
};

/** What else the pure folders have not: what reaches out of the process or puts off what is done. */
export const WORLD: readonly string[] = [
  'process',
  'console',
  'fetch',
  'WebSocket',
  'XMLHttpRequest',
  'EventSource',
  'BroadcastChannel',
  'Worker',
  'SharedWorker',
  'localStorage',
  'sessionStorage',
  'indexedDB',
  'navigator',
  'location',
  'self',
  'crypto',
  'queueMicrotask',
];

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
