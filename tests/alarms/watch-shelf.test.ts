/** Shelf, mode and load through the whole core: entries in, pictures and notes out. */
import { expect, it } from 'vitest';
import { Drive, siteLayout } from '../support/drive.ts';

it('a refuelling stop is held back and flagged when it outlasts its minutes; a shelved alarm leaves the list and the record says who', () => {
  const drive = new Drive(siteLayout('larch-cove'), { seed: 9_300 });
  drive.run(60);
  const enter = (entry: Parameters<typeof drive.watch.enter>[0]): string | null =>
    drive.watch.enter(entry, drive.simulation.nowMs + 950);
  expect(enter({ kind: 'mode', by: 'AB', mode: 'refuelling', minutes: 2 })).toBeNull();
  drive.carry({ do: 'start', what: 'pump-stop' });
  drive.run(60);
  expect(drive.standing).toEqual([]);
  expect(drive.picture.setAside.map(({ verdict, state }) => `${verdict.cause} ${state}`)).toContain(
    'pump-stop suppressed',
  );
  expect(drive.picture.lines.map(({ state }) => state)).not.toContain('down');
  drive.run(65);
  expect(drive.standing).toEqual(['pump-stop pump']);
  expect(drive.picture.alarmLoad).toMatchObject({ lastHour: 1, byPriority: { people: 0, high: 1, medium: 0, low: 0 } });
  const words = (): string[] => drive.picture.notes.map((note) => `${note.by ?? 'gateway'}: ${note.words}`);
  expect(words()).toEqual(
    expect.arrayContaining([
      "gateway: Mode 'refuelling' ended by itself",
      'gateway: No longer held back by a mode: portable pump: pump stopped',
      'gateway: Flagged: portable pump: pump stopped',
    ]),
  );

  const { id } = drive.picture.alarms[0]!.verdict;
  expect(enter({ kind: 'shelve', by: 'CD', alarm: id, why: 'carburettor is off', minutes: 5 })).toBeNull();
  drive.run(2);
  expect(drive.picture.alarms).toEqual([]);
  expect(drive.picture.setAside).toMatchObject([{ state: 'shelved', aside: { by: 'CD', why: 'carburettor is off' } }]);
  expect(words()).toContain('CD: Shelved for 5 min (carburettor is off): portable pump: pump stopped');
  drive.run(300);
  expect(drive.standing).toEqual(['pump-stop pump']);
  expect(words()).toContain('gateway: Shelf ended by itself: portable pump: pump stopped');
  expect(enter({ kind: 'unshelve', by: 'CD', alarm: id })).toMatch(/no alarm .* on the shelf/);
});
