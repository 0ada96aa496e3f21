/**
 * Nobody exports what nobody uses (`.ci/knip.json`; a check of its own in `npm test`), and what only tests use stands
 * here by name, with why the test needs it.
 */
import { spawnSync } from 'node:child_process';
import { cpSync, mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { ROOT } from './source-files.ts';

/** Windows for tests: the product calls each itself, and its answer cannot be seen from further out as closely. */
const WINDOWS: Readonly<Record<string, string>> = {
  'config/causes/causes.ts familyOf': 'that a family is one both ways',
  'config/kit/kit-catalogue.ts GATE_KITS': 'every row against its source, two of one name included',
  'config/kit/kit-catalogue.ts HEAD_KITS': 'every row against its source, two of one name included',
  'config/kit/kit-catalogue.ts HOSE_KITS': 'every row against its source, two of one name included',
  'config/kit/kit-catalogue.ts PUMP_KITS': 'every row against its source, two of one name included',
  'config/layout/layout-parser.ts fingerprint': 'one layout written in two ways has one fingerprint',
  'config/units.ts unitsOf': 'every unit, read and shown again',
  'gateway/access/credentials.ts parseCredentials': 'hostile texts, without a file each',
  'gateway/core/alarms/priority.ts PRIORITY_TABLE': 'every cell of the table',
  'gateway/core/alarms/wording.ts checkOf': 'every cause has its check, also one that no scenario reaches',
  'gateway/core/alarms/wording.ts placeName': 'a sentence is searched for the name that it must hold',
  'gateway/core/diagnosis/bursts/shock-watch.ts shockIn': 'one burst against a shock by hand',
  'gateway/core/diagnosis/isolation/next-check.ts informationBits': 'against the formula',
  'gateway/core/diagnosis/residuals/creep.ts LIMIT': 'the stated run length',
  'gateway/core/diagnosis/residuals/creep.ts SLACK': 'the stated run length',
  'gateway/core/diagnosis/residuals/shape.ts misfit': 'against sums by hand',
  'gateway/core/hydraulics/cavitation.ts airPressurePa': 'against the standard atmosphere',
  'gateway/core/hydraulics/cavitation.ts vapourPressurePa': 'against a handbook table',
  'gateway/core/hydraulics/lay-volume.ts hoseVolumeM3': 'against a handbook table',
  'gateway/core/hydraulics/settings.ts nothingWrong': 'networks of publications, which have no layout',
  'gateway/ingest/refusal.ts REFUSALS': 'no refusal outside the catalogue, whatever comes in',
  'gateway/journal/retention.ts thin': 'what thinning keeps, without a week of waiting',
  'gateway/journal/truth-file.ts truthPath': 'what people found lies beside the run, not in it',
  'simulator/faults/faults.ts NOT_PLAYED': 'a cause without a fault of its name is named, with why',
  'simulator/flow-law.ts churchill': 'against published friction factors',
  'ui/parts/plan/plan-geometry.ts overlap': 'labels of random plans do not overlap',
  'ui/state/pump-duty.ts flowAt': 'the point where pump and lay meet',
};

/** `FILE NAME` of every export that is found, or `FILE` where nobody uses the whole of it. */
function unused(folder: string, ...options: readonly string[]): string[] {
  const knip = join(ROOT, 'node_modules/knip/bin/knip.js');
  const { stdout, stderr } = spawnSync(
    process.execPath,
    [knip, '-c', '.ci/knip.json', '--reporter', 'json', '--include', 'exports,files', ...options],
    { cwd: folder, encoding: 'utf8' },
  );
  if (stdout === '') throw new Error(`knip said nothing: ${stderr}`);
  const report = JSON.parse(stdout) as {
    readonly issues: readonly {
      readonly file: string;
      readonly exports?: readonly { readonly name: string }[];
      readonly files?: readonly unknown[];
    }[];
  };
  return report.issues
    .flatMap(({ file, exports, files }) => [
      ...(exports ?? []).map(({ name }) => `${file} ${name}`),
      ...((files ?? []).length > 0 ? [file] : []),
    ])
    .sort();
}

describe('exports', () => {
  it('that only tests use are few, and each is named with its reason', { timeout: 120_000 }, () => {
    expect(unused(ROOT, '--production')).toEqual(Object.keys(WINDOWS).sort());
  });

  it(
    'that nobody uses are found where they are planted, and so are those that only a test uses',
    { timeout: 120_000 },
    () => {
      const folder = mkdtempSync(join(tmpdir(), 'wetdown-exports-'));
      const write = (path: string, text: string): void => {
        mkdirSync(join(folder, dirname(path)), { recursive: true });
        writeFileSync(join(folder, path), text);
      };
      try {
        write('package.json', '{ "name": "planted", "type": "module" }');
        cpSync(join(ROOT, '.ci/knip.json'), join(folder, '.ci/knip.json'), { recursive: true });
        symlinkSync(join(ROOT, 'node_modules'), join(folder, 'node_modules'));
        write('gateway/main.ts', "import { used } from './core/part.ts';\nused();\n");
        write(
          'gateway/core/part.ts',
          'export const used = () => 1;\nexport const tested = () => 2;\nexport const nobody = 3;\n',
        );
        write('gateway/core/lost.ts', 'export const lost = 1;\n');
        write('tests/part.test.ts', "import { tested } from '../gateway/core/part.ts';\ntested();\n");
        expect(unused(folder)).toEqual(['gateway/core/lost.ts', 'gateway/core/part.ts nobody']);
        expect(unused(folder, '--production')).toEqual([
          'gateway/core/lost.ts',
          'gateway/core/part.ts nobody',
          'gateway/core/part.ts tested',
        ]);
      } finally {
        rmSync(folder, { recursive: true, force: true });
      }
    },
  );
});
