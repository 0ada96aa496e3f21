/**
 * Makes the working copy ready to run: locked dependencies installed, screen built. Does nothing when both are up to
 * date.
 *
 * Plain JavaScript on Node's own modules only, because nothing else is there before this has run. 'Up to date' is
 * judged by content, not by file times: a hash of the lock, and a hash of everything the screen is made from.
 */
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';

export const ROOT = resolve(dirname(fileURLToPath(import.meta.url)), '../..');
const LOCK = join(ROOT, 'package-lock.json');
const LOCK_STAMP = join(ROOT, 'node_modules/.wetdown-lock');
const SCREEN = join(ROOT, '.build/ui');
const SCREEN_STAMP = join(ROOT, '.build/ui-stamp');
const SCREEN_SOURCES = ['ui', 'config', 'gateway/core/hydraulics', 'package-lock.json'];

/** `screen` false: for what only needs the dependencies. */
export function ready(screen = true) {
  checkNode();
  install();
  if (screen) buildScreen();
}

function checkNode() {
  const [major = 0, minor = 0] = process.versions.node.split('.').map(Number);
  if (major >= 23 || major < 20 || (major === 20 && minor < 19))
    stop(`Node 20.19 or later, below 23, is needed; this is ${process.versions.node}.`);
}

/** Another Node means other binaries, so its ABI belongs to the stamp. */
function install() {
  const wanted = `${hashOf([LOCK])} ${process.versions.modules}`;
  if (read(LOCK_STAMP) === wanted) return;
  const otherNode = read(LOCK_STAMP) !== null && !read(LOCK_STAMP)?.endsWith(` ${process.versions.modules}`);
  if (otherNode || !isInstalled())
    run('Installing the locked dependencies (a minute or two, once)', 'npm', ['ci', '--include=dev']);
  writeFileSync(LOCK_STAMP, wanted);
}

/** Somebody ran npm by hand: what it says it installed is what the lock asks for. */
function isInstalled() {
  const installed = read(join(ROOT, 'node_modules/.package-lock.json'));
  if (installed === null) return false;
  const there = JSON.parse(installed).packages;
  return Object.entries(JSON.parse(readFileSync(LOCK, 'utf8')).packages).every(
    ([path, { version, optional, devOptional, peer }]) =>
      path === '' || optional || devOptional || peer || there[path]?.version === version,
  );
}

function buildScreen() {
  if (!existsSync(join(ROOT, 'ui/index.html'))) return;
  const wanted = hashOf(SCREEN_SOURCES.flatMap((source) => filesIn(join(ROOT, source))));
  if (read(SCREEN_STAMP) === wanted && existsSync(join(SCREEN, 'index.html'))) return;
  mkdirSync(dirname(SCREEN_STAMP), { recursive: true });
  rmSync(SCREEN_STAMP, { force: true });
  run('Building the screen', process.execPath, [
    join(ROOT, 'node_modules/vite/bin/vite.js'),
    'build',
    'ui',
    '--logLevel',
    'warn',
  ]);
  writeFileSync(SCREEN_STAMP, wanted);
}

function run(words, command, args) {
  console.log(`${words} ...`);
  // As it ships: under a test runner's own setting the libraries would bring their development parts.
  const env = { ...process.env, NODE_ENV: 'production' };
  const { status, error } = spawnSync(command, args, { cwd: ROOT, env, stdio: ['ignore', 'inherit', 'inherit'] });
  if (status !== 0) stop(`${words} failed${error ? `: ${error.message}` : ''}.`);
}

function stop(words) {
  console.error(words);
  process.exit(2);
}

function read(path) {
  return existsSync(path) ? readFileSync(path, 'utf8') : null;
}

function filesIn(path) {
  if (!statSync(path).isDirectory()) return [path];
  return readdirSync(path, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .map((entry) => join(entry.parentPath, entry.name))
    .sort();
}

function hashOf(files) {
  const hash = createHash('sha256');
  for (const file of files) hash.update(file.slice(ROOT.length)).update('\0').update(readFileSync(file)).update('\0');
  return hash.digest('hex');
}
