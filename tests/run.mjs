/**
 * `npm test`: makes the working copy ready, then types, house rules of the linter, and every test; ends with one line
 * of counts.
 *
 * Format, types, exports and lint count as one test each. What this machine cannot run counts as skipped, and as failed
 * in CI. Arguments are handed to vitest (`npm test -- tests/journal`), and then only the tests run.
 */
import { spawn, spawnSync } from 'node:child_process';
import { mkdirSync, readFileSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { ready, ROOT } from '../gateway/launch/ready.mjs';

const REPORT = join(ROOT, 'tests/artifacts/vitest.json');
const TYPES = ['--tsconfig', './tsconfig.json', '--fail-on-warnings', '--output', 'human'];
/** The longest first. The checker of the screen checks every other file of the project as well. */
const CHECKS = [
  ['lint', ['node_modules/eslint/bin/eslint.js', '-c', '.ci/eslint.config.js', '--max-warnings', '0', '.']],
  ['types', ['node_modules/svelte-check/bin/svelte-check', ...TYPES]],
  ['format', ['node_modules/prettier/bin/prettier.cjs', '--check', '--log-level', 'warn', '.']],
  ['exports that nobody uses', ['node_modules/knip/bin/knip.js', '-c', '.ci/knip.json']],
];

ready();
const args = process.argv.slice(2);
const counts = { passed: 0, failed: 0, skipped: 0 };
if (args.length === 0) await check();
mkdirSync(join(ROOT, 'tests/artifacts'), { recursive: true });
rmSync(REPORT, { force: true });
const status = run([
  'node_modules/vitest/vitest.mjs',
  'run',
  '-c',
  'tests/vitest.config.ts',
  '--reporter=default',
  '--reporter=json',
  `--outputFile.json=${REPORT}`,
  ...args,
]);
count(status);
if (process.env.CI === 'true' && counts.skipped > 0) {
  process.stdout.write(`FAILED: ${counts.skipped} tests could not run here, and in CI all of them must.\n`);
  counts.failed += counts.skipped;
  counts.skipped = 0;
}
process.stdout.write(`${counts.passed} passed, ${counts.failed} failed, ${counts.skipped} skipped\n`);
process.exit(counts.failed === 0 ? 0 : 1);

/** Each check takes one core, so two go at once; what each has to say stays together. */
async function check() {
  const waiting = [...CHECKS];
  const work = async () => {
    for (let next = waiting.shift(); next; next = waiting.shift()) {
      const [name, [script, ...rest]] = next;
      const said = [];
      const child = spawn(process.execPath, [join(ROOT, script), ...rest], {
        cwd: ROOT,
        stdio: ['ignore', 'pipe', 'pipe'],
      });
      for (const stream of [child.stdout, child.stderr]) stream.on('data', (piece) => said.push(piece));
      const code = await new Promise((done) => child.on('close', done));
      counts[code === 0 ? 'passed' : 'failed'] += 1;
      process.stdout.write(`\n${name}\n${Buffer.concat(said)}${code === 0 ? '' : `FAILED: ${name}\n`}`);
    }
  };
  await Promise.all([work(), work()]);
}

function count(status) {
  let report;
  try {
    report = JSON.parse(readFileSync(REPORT, 'utf8'));
  } catch {
    counts.failed += 1;
    return;
  }
  counts.passed += report.numPassedTests;
  counts.skipped += report.numPendingTests + report.numTodoTests;
  // A file that cannot even be loaded has no failed test, but vitest's exit code tells.
  counts.failed += Math.max(report.numFailedTests, status === 0 ? 0 : 1);
}

function run(command) {
  const [script, ...rest] = command;
  const { status } = spawnSync(process.execPath, [join(ROOT, script), ...rest], {
    cwd: ROOT,
    stdio: ['ignore', 'inherit', 'inherit'],
  });
  return status ?? 1;
}
