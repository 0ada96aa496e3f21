/**
 * Which parts of the product are mutated, how often, and which tests must notice.
 *
 * The tests of a room are those that hold it to what it shall do, cheapest first; a test of the whole process would
 * notice as well, but too late to be run for each mutant.
 */
export interface Room {
  readonly name: string;
  readonly files: RegExp;
  /** So many mutants of the fixed list. */
  readonly share: number;
  readonly tests: readonly string[];
}

export const ROOMS: readonly Room[] = [
  {
    name: 'units and kit',
    files: /^config\/(units|kit\/kit|spelling)\.ts$/,
    share: 25,
    tests: ['tests/config'],
  },
  {
    name: 'hydraulics',
    files: /^gateway\/core\/hydraulics\//,
    share: 75,
    tests: ['tests/published', 'tests/laws', 'tests/oracle', 'tests/gateway/check.test.ts'],
  },
  {
    name: 'readings',
    files: /^gateway\/core\/(telemetry|operations)\//,
    share: 25,
    tests: ['tests/ingest', 'tests/diagnosis', 'tests/alarms', 'tests/scenarios'],
  },
  {
    name: 'diagnosis',
    files: /^gateway\/core\/(diagnosis|statistics)\//,
    share: 85,
    tests: ['tests/diagnosis', 'tests/scenarios'],
  },
  {
    name: 'alarms',
    files: /^gateway\/core\/alarms\/|^config\/(causes\/|modes\.ts|alarm-targets\.ts)/,
    share: 45,
    tests: ['tests/alarms', 'tests/config/causes.test.ts', 'tests/diagnosis', 'tests/scenarios'],
  },
  {
    name: 'review',
    files: /^gateway\/review\//,
    share: 45,
    tests: ['tests/review'],
  },
  {
    name: 'the screen',
    files: /^ui\/(state|words)\/[^/]+\.ts$/,
    share: 50,
    tests: [
      'tests/ui',
      'tests/browser/reach.test.ts',
      'tests/browser/work-screens.test.ts',
      'tests/browser/alarm-screen.test.ts',
      'tests/browser/kept.test.ts',
    ],
  },
];

export function roomOf(path: string): Room | null {
  return ROOMS.find(({ files }) => files.test(path)) ?? null;
}
