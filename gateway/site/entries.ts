/**
 * A person's entry: to the intake, to the core and to the journal, and what the person is told of it.
 *
 * In: an entry with the role and the times it was made at, the run that is on. Out: null when it was taken and is on
 * disk, words when it was not taken, an answer when it was and something is not so yet. Either way it goes to the
 * journal, with the role they had.
 */
import type { Role } from '../../config/wire/access.ts';
import type { Entry, EntryAnswer } from '../../config/wire/entry.ts';
import type { Picture } from '../../config/wire/wire.ts';
import { entryAnswer, refusalOf, STILL_READING } from './entry-answer.ts';
import type { Run } from './run.ts';

const NO_ADVICE = 'Noted in the record, but the diagnosis is not working: nothing will come of it now.';

/** `atMs` by the run's clock, `wallMs` by the wall's. `shown`: what the person saw last. */
export function enterInto(
  { intake, rebuild, core, journal }: Run,
  { entry, role, atMs, wallMs }: { entry: Entry; role: Role | null; atMs: number; wallMs: number },
  shown: Picture | null,
): string | EntryAnswer | null {
  if (rebuild && entry.kind === 'baseline') return `No baseline yet: ${STILL_READING} Try again in a moment.`;
  const refusal = intake.objection(entry, shown) ?? (rebuild ? null : core.enter(entry, atMs));
  const words = core.failed && refusal === null ? NO_ADVICE : refusal;
  const done = words === null ? intake.heed(entry, atMs) : entry;
  journal.entry(role === null ? done : Object.assign({ role }, done), atMs, wallMs, words);
  journal.flush();
  return words === null ? entryAnswer(journal.state, rebuild !== null) : refusalOf(words, journal.state);
}
