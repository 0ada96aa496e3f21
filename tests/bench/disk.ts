/**
 * What a reading costs on disk and what a chart costs in time: a day of 12 channels at 1 Hz as the gateway writes it.
 *
 * Run: npm run bench -- disk. Three devices of four channels, a SenML pack a second each, an expectation for eight
 * channels a second, written down as the run loop does. Beside it a plain (time, channel, value) table with the same
 * readings, in a file of its own. Windows of 24 h are asked for from a file that was just opened, at ten starts.
 */
import Database from 'better-sqlite3';
import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Journal } from '../../gateway/journal/journal.ts';
import { blankChannel, blankPicture } from '../support/blank-picture.ts';
import { demoSite } from '../support/demo-site.ts';

const SECONDS = 86_400;
const START = 1_790_000_000_000;
const { layout, text } = demoSite();
const CHANNELS = layout.sensors.slice(0, 12);
const folder = mkdtempSync(join(tmpdir(), 'wetdown-disk-'));
const facts = { layout, layoutText: text, software: 'bench', simulated: true, startedMs: START, startedWallMs: START };

function tell(what: string, value: number, unit: string, aim = ''): void {
  console.log(`${what.padEnd(62)} ${value.toPrecision(3).padStart(8)} ${unit.padEnd(10)} ${aim && `aim: ${aim}`}`);
}

function write(): string {
  const journal = new Journal(folder, facts);
  for (let second = 0; second < SECONDS; second += 1) {
    const atMs = START + 1_000 * second;
    const values = CHANNELS.map((_, index) =>
      Number((400_000 + 3_000 * Math.sin(second * (index + 1))).toPrecision(8)),
    );
    for (let device = 0; device < 3; device += 1) {
      const own = CHANNELS.map((sensor, index) => ({ sensor, value: values[index]! })).slice(
        4 * device,
        4 * device + 4,
      );
      const pack = own.map(({ sensor, value }, index) => ({
        ...(index === 0 ? { bn: `larch-cove:box-${device}:`, bt: atMs / 1_000 } : {}),
        n: sensor.record,
        u: 'Pa',
        v: value,
      }));
      const number =
        journal.packet({
          receivedMs: atMs + 60,
          receivedWallMs: atMs + 60,
          topic: `wetdown/larch-cove/box-${device}/senml`,
          payload: Buffer.from(JSON.stringify(pack)),
          retained: false,
          messageId: second % 65_536,
          verdict: 'readings',
        }) ?? 0;
      for (const { sensor, value } of own)
        journal.reading(
          { channel: sensor.id, value, atMs, receivedMs: atMs + 60, deviceMs: atMs, grade: 'good' },
          true,
          number,
        );
    }
    journal.picture(
      blankPicture(atMs, {
        channels: CHANNELS.slice(0, 8).map(({ id }) =>
          blankChannel(id, { expected: 400_000, low: 390_000, high: 410_000 }),
        ),
      }),
    );
    if (second % 10 === 9) journal.flush();
  }
  journal.close();
  return journal.path;
}

function plain(from: string): string {
  const path = join(folder, 'plain.sqlite');
  const database = new Database(path);
  database.exec(
    `create table reading (at_ms integer, channel integer, value real); attach '${from}' as run; ` +
      'insert into reading select at_ms, channel, value from run.reading order by at_ms',
  );
  database.close();
  return path;
}

try {
  const path = write();
  const readings = SECONDS * CHANNELS.length;
  const bytes = statSync(path).size / readings;
  const plainBytes = statSync(plain(path)).size / readings;
  tell('the whole record, a reading', bytes, 'bytes');
  const database = new Database(path, { readonly: true });
  for (const { name, size } of database
    .prepare<[], { name: string; size: number }>(
      'select name, sum(pgsize) as size from dbstat group by name order by size desc limit 5',
    )
    .all())
    tell(`  of which ${name}`, size / readings, 'bytes');
  database.close();
  tell('a plain table (time, channel, value) of the same readings', plainBytes, 'bytes');
  tell('the record against the plain table', bytes / plainBytes, 'ratio');
  const times: number[] = [];
  for (let start = 0; start < 10; start += 1) {
    const journal = new Journal(folder, facts, false, {
      run: path.slice(folder.length + 1, -'.sqlite'.length),
      startedMs: START,
      endedMs: START,
      claim: { release: () => undefined },
    });
    const fromMs = START - 43_200_000 + start * 8_640_000;
    const beganMs = performance.now();
    for (const { id } of CHANNELS) journal.series(id, fromMs, fromMs + 86_400_000);
    times.push(performance.now() - beganMs);
    journal.close();
  }
  times.sort((one, other) => one - other);
  tell('12 series of 24 h, median', times[5] ?? NaN, 'ms', 'under 100');
  tell('12 series of 24 h, slowest', times.at(-1) ?? NaN, 'ms', 'under 100');
} finally {
  rmSync(folder, { recursive: true, force: true });
}
