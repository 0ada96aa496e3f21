/**
 * `npm run mutants`: puts one bug after the other into copies of the product and sees whether a test notices.
 *
 * In: arguments (see HELP). Out: every mutant with its place and whether it survived, and the share that was killed, by
 * room. Exit code 0 when at least 90 % were killed and each survivor has its reason in survivors.json, 1 when not, 2
 * for arguments that cannot be. The working tree is never changed. A mutant that runs without end counts as killed.
 */
import { spawn } from 'node:child_process';
import {
  cpSync,
  existsSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { parseArgs } from 'node:util';
import { chosen, changedLines, productFiles } from './choice.ts';
import { withMutant, type Mutant } from './operators.ts';
import { roomOf, ROOMS, type Room } from './rooms.ts';

const ROOT = resolve(import.meta.dirname, '../..');
const REASONS = join(import.meta.dirname, 'survivors.json');
const COPIED = [
  ...['config', 'gateway', 'simulator', 'ui', 'tests', 'README.md', 'DEVELOPERS.md'],
  ...['package.json', 'package-lock.json', 'tsconfig.json'],
];
const WORKERS = 2;
const AIM = 0.9;
/** A run of tests may take so many times what it takes without a bug, and so long on top. */
const PATIENCE = 4;
const PATIENCE_MS = 30_000;

const HELP = `Bugs put into the product on purpose, one at a time: does a test notice?

  npm run mutants [-- options]

  --file TEXT   only files whose path holds this
  --since REF   every mutant on lines that changed since this commit, instead of the fixed list
  --limit N     at most so many
  --list        prints them and runs nothing
`;

interface Verdict {
  readonly mutant: Mutant;
  readonly killed: boolean;
}

function copyOf(): string {
  const copy = mkdtempSync(join(tmpdir(), 'mutants-'));
  for (const part of COPIED) cpSync(join(ROOT, part), join(copy, part), { recursive: true });
  if (existsSync(join(ROOT, '.build'))) cpSync(join(ROOT, '.build'), join(copy, '.build'), { recursive: true });
  symlinkSync(join(ROOT, 'node_modules'), join(copy, 'node_modules'));
  return copy;
}

/** Those tests of the room that import the file: most bugs are seen there, and they are played first. */
function nearest(copy: string, { tests }: Room, path: string): string[] {
  const name = path.replace(/^.*\//, '/');
  return tests
    .flatMap((test) => (test.endsWith('.ts') ? [test] : readdirSync(join(copy, test)).map((one) => `${test}/${one}`)))
    .filter((test) => test.endsWith('.test.ts') && readFileSync(join(copy, test), 'utf8').includes(`${name}'`));
}

/** Whether the tests pass; false when they took longer than `mostMs`. */
function pass(copy: string, tests: readonly string[], mostMs: number): Promise<boolean> {
  const there = tests.filter((test) => existsSync(join(copy, test)));
  return new Promise((done) => {
    const run = spawn(
      process.execPath,
      ['node_modules/vitest/vitest.mjs', 'run', '-c', 'tests/vitest.config.ts', '--bail=1', '--maxWorkers=1', ...there],
      { cwd: copy, stdio: 'ignore', detached: true },
    );
    const late = setTimeout(() => process.kill(-run.pid!, 'SIGKILL'), mostMs);
    run.on('exit', (code) => {
      clearTimeout(late);
      done(code === 0);
    });
  });
}

async function judge(copy: string, mutant: Mutant, mostMs: number): Promise<Verdict> {
  const path = join(copy, mutant.path);
  const text = readFileSync(path, 'utf8');
  writeFileSync(path, withMutant(text, mutant));
  try {
    const room = roomOf(mutant.path)!;
    const first = nearest(copy, room, mutant.path);
    const killed = (first.length > 0 && !(await pass(copy, first, mostMs))) || !(await pass(copy, room.tests, mostMs));
    return { mutant, killed };
  } finally {
    writeFileSync(path, text);
  }
}

async function measure(copy: string, rooms: readonly Room[]): Promise<Map<Room, number>> {
  const out = new Map<Room, number>();
  for (const room of rooms) {
    const startMs = performance.now();
    if (!(await pass(copy, room.tests, 1_200_000))) throw new Error(`The tests of ${room.name} fail without any bug.`);
    out.set(room, PATIENCE * (performance.now() - startMs) + PATIENCE_MS);
  }
  return out;
}

function place({ path, line, before, after, operator, id }: Mutant): string {
  const short = (words: string): string => words.replaceAll(/\s+/g, ' ').slice(0, 60);
  return `${id}  ${path}:${line}  ${operator}: ${short(before)} -> ${short(after)}`;
}

async function play(mutants: readonly Mutant[]): Promise<Verdict[]> {
  const rooms = ROOMS.filter((room) => mutants.some(({ path }) => roomOf(path) === room));
  const copies = Array.from({ length: WORKERS }, copyOf);
  try {
    const mostMs = await measure(copies[0]!, rooms);
    const waiting = [...mutants];
    const verdicts: Verdict[] = [];
    await Promise.all(
      copies.map(async (copy) => {
        for (let mutant = waiting.shift(); mutant; mutant = waiting.shift()) {
          const verdict = await judge(copy, mutant, mostMs.get(roomOf(mutant.path)!)!);
          verdicts.push(verdict);
          process.stdout.write(`${verdict.killed ? 'killed  ' : 'survived'}  ${place(mutant)}\n`);
        }
      }),
    );
    return verdicts;
  } finally {
    for (const copy of copies) rmSync(copy, { recursive: true, force: true });
  }
}

function report(verdicts: readonly Verdict[]): boolean {
  for (const room of ROOMS) {
    const own = verdicts.filter(({ mutant }) => roomOf(mutant.path) === room);
    if (own.length > 0)
      process.stdout.write(`${room.name}: ${own.filter(({ killed }) => killed).length} of ${own.length} killed\n`);
  }
  const killed = verdicts.filter((verdict) => verdict.killed).length;
  const reasons = JSON.parse(readFileSync(REASONS, 'utf8')) as Readonly<Record<string, string>>;
  const nameless = verdicts.filter((verdict) => !verdict.killed && reasons[verdict.mutant.id] === undefined);
  process.stdout.write(
    `${killed} of ${verdicts.length} killed (aim ${100 * AIM} %); ${nameless.length} survivors without a reason\n`,
  );
  return killed >= AIM * verdicts.length && nameless.length === 0;
}

const { values } = parseArgs({
  options: {
    file: { type: 'string' },
    since: { type: 'string' },
    limit: { type: 'string' },
    list: { type: 'boolean' },
    help: { type: 'boolean' },
  },
});
const limit = values.limit === undefined ? Infinity : Number(values.limit);
if (values.help || !(limit >= 1)) {
  process.stdout.write(HELP);
  process.exit(values.help ? 0 : 2);
}
const files = productFiles(ROOT);
const all = chosen(files, values.since === undefined ? null : changedLines(ROOT, values.since));
const mutants = all.filter(({ path }) => path.includes(values.file ?? '')).slice(0, limit);
if (values.list) for (const mutant of mutants) process.stdout.write(`${place(mutant)}\n`);
else process.exitCode = report(await play(mutants)) ? 0 : 1;
