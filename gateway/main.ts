/**
 * The gateway's process: starts it as the command line says, ends it at a signal. Nothing is decided here.
 *
 * In: the command line. Out: one address to open. Exit codes: 0 after a signal or --help, 2 when it cannot start.
 */
import { startLive } from './launch/live-start.ts';
import { HELP, parseOptions } from './launch/options.ts';
import { StartRefused } from './launch/refusal.ts';
import { replayRun } from './launch/replay-start.ts';
import { Terminal } from './launch/terminal.ts';

/** Judgement: of a log that can still be written. */
const LAST_LINES_MS = 1_000;
const terminal = new Terminal(1);
const complaints = new Terminal(2);

const voice = {
  say: (words: string): void => terminal.say(words),
  /** A fault of our own must not end the record of a site that nobody stands at. */
  goOn: (act: () => void): void => {
    try {
      act();
    } catch (error) {
      complaints.say(`A fault in the gateway itself: ${error instanceof Error ? error.stack : String(error)}`);
    }
  },
};

function fail(words: string): never {
  complaints.last(words);
  process.exit(2);
}

const parsed = parseOptions(process.argv.slice(2), process.env);
if (parsed.kind === 'wrong') fail(parsed.why);
if (parsed.kind === 'help') {
  terminal.last(HELP);
  process.exit(0);
}
let stop: (() => Promise<void>) | null = null;
let stopping = false;
async function end(why: string): Promise<void> {
  if (stopping) return;
  stopping = true;
  voice.say(`Ending (${why}).`);
  await stop?.();
  const written = await Promise.all([terminal.settled(LAST_LINES_MS), complaints.settled(LAST_LINES_MS)]);
  // A line that nobody takes off the pipe would hold up an orderly exit for good.
  if (!written.every(Boolean)) process.kill(process.pid, 'SIGKILL');
  process.exit(0);
}
for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) process.on(signal, () => void end(signal));
// The launcher is gone: nobody could stop this process any more.
process.on('disconnect', () => void end('the launcher is gone'));
try {
  const { options } = parsed;
  stop = options.replay === null ? await startLive(options, voice) : await replayRun(options, options.replay, voice);
} catch (error) {
  if (error instanceof StartRefused) fail(error.message);
  fail(`Cannot start: ${error instanceof Error ? error.message : String(error)}`);
}
