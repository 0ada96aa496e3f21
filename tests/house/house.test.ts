/** The house's own rules: which room may import what, what a pure room may touch, how long a file may be. */
import { execFileSync } from 'node:child_process';
import { describe, expect, it } from 'vitest';
import { codeOf, importsOf, ROOT, sourceFiles, type SourceFile } from './source-files.ts';

const FILES = sourceFiles();

/** What a room may import besides itself. Files at the top of gateway/ put rooms together and may see all of them. */
const MAY_IMPORT: Readonly<Record<string, readonly string[]>> = {
  config: [],
  'gateway/core/statistics': [],
  'gateway/core/hydraulics': ['config'],
  'gateway/core/telemetry': ['config'],
  'gateway/core/diagnosis': ['config', 'gateway/core/statistics', 'gateway/core/hydraulics', 'gateway/core/telemetry'],
  'gateway/core/operations': ['config', 'gateway/core/telemetry', 'gateway/core/diagnosis'],
  'gateway/core/alarms': ['config', 'gateway/core/diagnosis', 'gateway/core/operations'],
  'gateway/core': ['config', 'gateway/core'],
  'gateway/ingest': ['config', 'gateway/core/telemetry'],
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
  ui: ['config', 'gateway/core/hydraulics'],
};
const MAIN = 'gateway/main.ts';
const ONE_IMPORTER: Readonly<Record<string, readonly string[]>> = {
  mqtt: ['gateway/ingest/', 'simulator/'],
  aedes: ['gateway/ingest/'],
  cborg: ['gateway/ingest/'],
  '@bufbuild/protobuf': ['gateway/ingest/'],
  'better-sqlite3': ['gateway/journal/'],
  fastify: ['gateway/server/'],
  uplot: ['ui/charts/'],
};
const PURE = [
  'config/',
  'gateway/core/',
  'gateway/launch/preflight-sheet.ts',
  'gateway/launch/preflight-heads.ts',
  'gateway/launch/sheet-text.ts',
  'gateway/replay/rerun.ts',
  'gateway/replay/differences.ts',
  ...[
    'alarm-load',
    'clock-text',
    'csv',
    'detection',
    'episodes',
    'look-back',
    'anonymised',
    'report-page',
    'report-plots',
    'tables',
    'tar',
    'up-times',
    'water-books',
  ].map((file) => `gateway/review/${file}.ts`),
];
const IMPURE =
  /\bDate\.now\b|\bnew Date\(\s*\)|\bMath\.random\b|\bset(?:Timeout|Interval|Immediate)\b|\bperformance\b|\bprocess\.|\bfetch\(|\bconsole\./;
/** Lines that the formatter's 120 columns make of a file; those named are to be split, and grow no further. */
const LINES_MAX = 400;
const TO_BE_SPLIT: Readonly<Record<string, number>> = {
  'gateway/journal/run-reader.ts': 445,
  'tests/score/trial.ts': 505,
  'tests/ui/fixture.ts': 505,
};
/** Tools that demand a default export. */
const DEFAULT_EXPORTS = new Set(['tests/vitest.config.ts', 'ui/vite.config.ts', 'ui/svelte.config.ts']);
const TOP_LEVEL = [
  'README.md',
  'DEVELOPERS.md',
  'LICENSE',
  'package.json',
  'package-lock.json',
  'tsconfig.json',
  'config',
  'gateway',
  'simulator',
  'ui',
  'tests',
];

/** The innermost. */
function roomOf(path: string): string | null {
  const rooms = Object.keys(MAY_IMPORT).filter((room) => path.startsWith(`${room}/`));
  return rooms.sort((a, b) => b.length - a.length)[0] ?? null;
}

function breaches(files: readonly SourceFile[], broken: (file: SourceFile) => readonly string[]): string[] {
  return files.flatMap((file) => broken(file).map((what) => `${file.path}: ${what}`));
}

const isTest = (file: SourceFile): boolean => file.path.startsWith('tests/');
const product = FILES.filter((file) => !isTest(file));
const typed = FILES.filter((file) => !file.path.endsWith('.mjs'));

describe('the house', () => {
  it('sees the files it judges', () => {
    expect(FILES.length).toBeGreaterThan(60);
    expect(importsOf('a/b.ts', "import type { X } from '../c/d.ts';\nexport { y } from 'mqtt';")).toEqual([
      'c/d.ts',
      'mqtt',
    ]);
    expect(codeOf("const a = 'Date.now'; // Date.now\n/* Date.now */ b")).not.toContain('now');
  });

  it('imports downhill only', () => {
    const found = breaches(product, (file) => {
      const room = roomOf(file.path);
      if (room === null) return file.path === MAIN ? [] : ['is in no room'];
      return file.imports.filter((name) => {
        const other = roomOf(name);
        const known =
          other !== null &&
          (other === room || MAY_IMPORT[room]!.some((one) => other === one || other.startsWith(`${one}/`)));
        return !known && /^(config|gateway|simulator|ui|tests)\//.test(name);
      });
    });
    expect(found).toEqual([]);
  });

  it('lets nobody import what puts the rooms together', () => {
    expect(breaches(product, (file) => file.imports.filter((name) => name === MAIN))).toEqual([]);
  });

  it('has no circular imports, types apart', () => {
    const importsByPath = new Map(
      product.map((file) => [file.path, importsOf(file.path, file.text.replaceAll(/^import type[^;]*;/gm, ''))]),
    );
    const circles: string[] = [];
    const done = new Set<string>();
    const walk = (path: string, trail: readonly string[]): void => {
      if (trail.includes(path)) circles.push([...trail.slice(trail.indexOf(path)), path].join(' -> '));
      if (done.has(path) || trail.includes(path)) return;
      for (const next of importsByPath.get(path) ?? []) if (importsByPath.has(next)) walk(next, [...trail, path]);
      done.add(path);
    };
    for (const path of importsByPath.keys()) walk(path, []);
    expect(circles).toEqual([]);
  });

  it('has one importing folder for each large library', () => {
    const found = breaches(product, (file) =>
      file.imports.filter(
        (name) => ONE_IMPORTER[name] && !ONE_IMPORTER[name].some((folder) => file.path.startsWith(folder)),
      ),
    );
    expect(found).toEqual([]);
    const talkers = product.filter((file) => file.path.startsWith('simulator/') && file.imports.includes('mqtt'));
    expect(talkers.length).toBeLessThanOrEqual(1);
  });

  it('keeps clocks, timers, dice and the outside world out of the pure rooms', () => {
    const pure = product.filter((file) => PURE.some((start) => file.path.startsWith(start)));
    expect(pure.length).toBeGreaterThan(30);
    expect(
      breaches(pure, (file) => [
        ...(IMPURE.exec(file.code) ?? []),
        ...file.imports.filter((name) => name.startsWith('node:') && name !== 'node:crypto'),
      ]),
    ).toEqual([]);
  });

  it('leaves standard output to what survives its failure', () => {
    // A command that shows a new secret must not keep what it could not show.
    const asks = ['gateway/access/command.ts'];
    const found = breaches(product, (file) =>
      /\bprocess\.std(out|err)\b/.test(file.code) && !asks.includes(file.path) ? ['writes to it directly'] : [],
    );
    expect(found).toEqual([]);
    const runs = product.filter((file) => file.path.startsWith('gateway/') && /\bconsole\./.test(file.code));
    expect(runs.map(({ path }) => path).sort()).toEqual([
      'gateway/launch/check.ts',
      'gateway/launch/child.mjs',
      'gateway/launch/ready.mjs',
      'gateway/launch/run.mjs',
    ]);
  });

  it('writes no any, no default export, no enum, no namespace, no suppressed check', () => {
    expect(
      breaches(typed, (file) => (/[:<,|&(]\s*any\b(?!\()|\bas any\b|\bany\[\]/.test(file.code) ? ['any'] : [])),
    ).toEqual([]);
    expect(
      breaches(typed, (file) =>
        /^export default\b/m.test(file.code) && !DEFAULT_EXPORTS.has(file.path) ? ['default export'] : [],
      ),
    ).toEqual([]);
    expect(
      breaches(typed, (file) =>
        /^\s*(export\s+)?(const\s+)?enum\s|^\s*(export\s+)?namespace\s/m.test(file.code) ? ['enum or namespace'] : [],
      ),
    ).toEqual([]);
    expect(
      breaches(typed, (file) =>
        /@ts-(ignore|nocheck|expect-error)|eslint-disable/.test(file.text) && !file.path.startsWith('tests/house/')
          ? ['a suppressed check']
          : [],
      ),
    ).toEqual([]);
  });

  it('names files after nouns of the trade, and keeps them readable in one sitting', () => {
    expect(
      breaches(FILES, (file) =>
        /(^|[/-])(utils?|helpers?|common|managers?|services?|misc)([-./]|$)/.test(file.path) ? ['name'] : [],
      ),
    ).toEqual([]);
    expect(
      breaches(FILES, (file) =>
        /\/[a-z0-9-]+(\.(test|svelte|d))?\.(ts|mjs)$|\/[A-Z][A-Za-z]*\.svelte$|^ui\/(vite\.config|svelte\.config)\.ts$|^tests\/vitest\.config\.ts$/.test(
          file.path,
        )
          ? []
          : ['spelling'],
      ),
    ).toEqual([]);
    expect(
      breaches(FILES, (file) =>
        file.text.split('\n').length > (TO_BE_SPLIT[file.path] ?? LINES_MAX) + 1
          ? [`${file.text.split('\n').length} lines`]
          : [],
      ),
    ).toEqual([]);
  });

  it('opens every file with what it is for', () => {
    expect(
      breaches(product, (file) =>
        /^(<!--|\/\*\*|(<script[^>]*>\s*(\/\*\*|\/\/)))/.test(file.text.trimStart()) ? [] : ['no header comment'],
      ),
    ).toEqual([]);
  });

  it('lets no test be switched off, except for what the machine lacks', () => {
    const tests = FILES.filter((file) => isTest(file) && !file.path.startsWith('tests/house/'));
    expect(
      breaches(tests, (file) => (/\.(only|todo|skip|fails)\b(?!If)/.test(file.code) ? ['a test switched off'] : [])),
    ).toEqual([]);
    expect(
      breaches(tests, (file) =>
        /\bskipIf\(/.test(file.code) && !/\bskipIf\((missing\(|no[A-Z])/.test(file.code)
          ? ['skipped for another reason than a missing program']
          : [],
      ),
    ).toEqual([]);
  });

  it('has nothing at the top level that does not belong there', () => {
    const listed = execFileSync('git', ['ls-files'], { cwd: ROOT, encoding: 'utf8' })
      .split('\n')
      .filter((path) => path !== '');
    const top = new Set(listed.map((path) => path.split('/')[0] ?? ''));
    expect([...top].filter((name) => !name.startsWith('.') && !TOP_LEVEL.includes(name))).toEqual([]);
  });
});
