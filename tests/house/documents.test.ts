/** The documents say what is there: sizes, rooms and their files, decision records, paths and commands. */
import { execFileSync } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import {
  covered,
  type Documents,
  PAGE,
  pageFaults,
  recordFaults,
  referenceFaults,
  roomFaults,
  wordFaults,
} from './documents.ts';
import { ROOT } from './source-files.ts';

function ours(): Documents {
  const args = ['ls-files', '--cached', '--others', '--exclude-standard'];
  const files = execFileSync('git', args, { cwd: ROOT, encoding: 'utf8' })
    .split('\n')
    .filter((path) => path !== '' && existsSync(join(ROOT, path)));
  const documents = files.filter((path) => path.endsWith('.md'));
  const { scripts } = JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8')) as { scripts: object };
  return {
    files,
    texts: new Map(documents.map((path) => [path, readFileSync(join(ROOT, path), 'utf8')])),
    commands: new Set(Object.keys(scripts)),
  };
}

const README = `# config

Units.

- **In:** text.
- **Out:** SI.

## Files, in reading order

- \`units.ts\`: factors.
- \`kit/kit.ts\`: shapes.

## To add

A unit: a row in \`units.ts\`, proved by \`npm test\`. See \`decisions/\`.

## Limits

None.
`;

const RECORD = `# 1. SI inside

**Date.** 2026-11-25

**Context.** Crews have many units.

**Choice.** SI inside, see \`config/units.ts\`.

**Tried.** Nothing else.

**Would change it.** A unit that SI has not.
`;
const RECORD_PATH = 'config/decisions/0001-si-inside.md';

/** A small house without a fault, with some texts changed and files added. */
function house(changed: Readonly<Record<string, string>> = {}, added: readonly string[] = []): Documents {
  const texts = new Map([
    [PAGE, '# For developers\n\nUnits live in `config/units.ts`.\n'],
    ['config/README.md', README],
    [RECORD_PATH, RECORD],
    ...Object.entries(changed),
  ]);
  const code = ['config/units.ts', 'config/kit/kit.ts'];
  return { files: [...new Set([...code, ...texts.keys(), ...added])], texts, commands: new Set(['test', 'score']) };
}

const all = (documents: Documents): string[] =>
  [pageFaults, roomFaults, recordFaults, referenceFaults, wordFaults].flatMap((faults) => faults(documents));

const readme = (from: string, to: string): Documents => house({ 'config/README.md': README.replace(from, to) });
const record = (from: string, to: string): Documents => house({ [RECORD_PATH]: RECORD.replace(from, to) });

describe('the documents', () => {
  it('keep the page for developers to one page', () => {
    expect(pageFaults(ours())).toEqual([]);
  });

  it('open every room with what it answers and what each of its files is for', () => {
    expect(roomFaults(ours())).toEqual([]);
  });

  it('number the decisions, each with its date, what was tried and what would change it', () => {
    expect(recordFaults(ours())).toEqual([]);
  });

  it('name no path and no command that is not there', () => {
    expect(referenceFaults(ours())).toEqual([]);
  });

  it('cite nothing that a reader cannot open', () => {
    expect(wordFaults(ours())).toEqual([]);
  });

  it('are all looked at', () => {
    const { texts } = ours();
    expect([...texts.keys()].filter((path) => path.endsWith('/README.md')).length).toBeGreaterThan(30);
    expect([...texts.keys()].filter((path) => path.includes('/decisions/')).length).toBeGreaterThan(40);
    expect(covered(ours(), 'gateway/access/README.md')).toContain('sessions.ts');
  });
});

describe('a fault in a document is found', () => {
  it('in none of a house in order', () => {
    expect(all(house())).toEqual([]);
  });

  const planted: readonly (readonly [string, Documents, string])[] = [
    ['a page of 91 lines', house({ [PAGE]: 'line\n'.repeat(91) }), `${PAGE}: 91 lines, 90 at most`],
    [
      'a page of 901 words',
      house({ [PAGE]: 'ten words that stand here in one line of it\n'.repeat(90) + 'x' }),
      `${PAGE}: 901 words, 900 at most`,
    ],
    ['a line of 121 columns', house({ [PAGE]: 'x'.repeat(121) }), `${PAGE}: line 1 has 121 columns`],
    ['no page', { ...house(), texts: new Map([['config/README.md', README]]) }, `${PAGE}: is not there`],
    [
      'a room without README',
      house(
        {},
        ['a', 'b', 'c', 'd'].map((name) => `ui/words/${name}.ts`),
      ),
      'ui/words: has no README.md',
    ],
    ['a README of 41 lines', readme('Units.', `Units.${'\n'.repeat(22)}`), 'config/README.md: 41 lines, 40 at most'],
    ['another heading', readme('# config', '# units'), "config/README.md: does not begin with '# config'"],
    ['no word on what comes in', readme('- **In:** text.\n', ''), "config/README.md: has no '- **In:**'"],
    ['no limits', readme('## Limits\n\nNone.\n', ''), "config/README.md: has no '## Limits'"],
    ['a file that is not named', house({}, ['config/modes.ts']), 'config/README.md: does not name modes.ts'],
    [
      'a room that the README above does not name',
      house({ 'config/wire/README.md': README.replace('# config', '# config/wire') }),
      'config/README.md: does not name wire/',
    ],
    [
      'a file that has gone',
      readme('`kit/kit.ts`', '`kit/hose.ts`'),
      'config/README.md: lists kit/hose.ts, which is not in this room',
    ],
    ['a file named twice', readme('- `kit', '- `units.ts`: again.\n- `kit'), 'config/README.md: names units.ts twice'],
    [
      'a file named only outside the list',
      readme('- `units.ts`: factors.\n', ''),
      'config/README.md: does not name units.ts',
    ],
    [
      'a gap in the numbers',
      house({ 'config/decisions/0003-x.md': RECORD.replace('# 1.', '# 3.') }),
      'decisions: number 2 is missing',
    ],
    ['a number given twice', house({ 'ui/decisions/0001-x.md': RECORD }), 'decisions: number 1 is given twice'],
    [
      'a README that is silent on its decisions',
      readme(' See `decisions/`.', ''),
      'config/README.md: does not say that there are `decisions/`',
    ],
    [
      'a record of another name',
      house({ 'config/decisions/si.md': RECORD }),
      'config/decisions/si.md: is not named NNNN-what-was-chosen.md',
    ],
    ['a record that bears another number', record('# 1.', '# 2.'), `${RECORD_PATH}: does not begin with '# 1. '`],
    ['a record without a date', record('2026-11-25', 'lately'), `${RECORD_PATH}: has no date like 2026-11-30`],
    [
      'a record that does not say what was tried',
      record('**Tried.** Nothing else.\n\n', ''),
      `${RECORD_PATH}: has the parts Date,Context,Choice,Would change it, not ` +
        'Date,Context,Choice,Tried,Would change it',
    ],
    [
      'a part with nothing in it',
      record(' Nothing else.', ''),
      `${RECORD_PATH}: has the parts Date,Context,Choice,Would change it, not ` +
        'Date,Context,Choice,Tried,Would change it',
    ],
    ['a record of 41 lines', record('# 1.', `# 1. \n${'\n'.repeat(29)}`), `${RECORD_PATH}: 41 lines, 40 at most`],
    [
      'a dead path',
      record('config/units.ts', 'config/unit.ts'),
      `${RECORD_PATH}: names config/unit.ts, which is not there`,
    ],
    ['a dead name', record('config/units.ts', 'metres.ts'), `${RECORD_PATH}: names metres.ts, which is not there`],
    [
      'a dead folder',
      record('config/units.ts', 'config/unit/'),
      `${RECORD_PATH}: names config/unit/, which is not there`,
    ],
    ['a dead link', record('Nothing else.', '[it](it.md).'), `${RECORD_PATH}: names it.md, which is not there`],
    [
      'a dead path without quotes',
      record('Nothing', 'tests/unit/a.ts'),
      `${RECORD_PATH}: names tests/unit/a.ts, which is not there`,
    ],
    [
      'a command that is none',
      readme('npm test', 'npm run prove'),
      "config/README.md: names 'npm run prove', which is none",
    ],
    [
      'a decision that is none',
      readme('None.', 'See decision 2.'),
      'config/README.md: cites decision 2, which is none',
    ],
    ['a ticket', readme('None.', 'See issue 7.'), "config/README.md: line 19 says 'issue 7'"],
    ['a machine path', readme('None.', 'In `/home/a`.'), "config/README.md: line 19 says '`/home'"],
    ['who worked there', record('Nothing else.', 'By a helper.'), `${RECORD_PATH}: line 9 says 'helper'`],
  ];
  it.each(planted)('%s', (_, documents, fault) => {
    expect(all(documents)).toContain(fault);
  });
});
