/**
 * What the documents of the house must hold: the page for developers, a README in every room, decision records.
 *
 * In: the paths of all files, the texts of the documents, the commands of package.json. Out: faults as sentences, each
 * with the document and what is missing in it, so that whoever moved a file can mend the line without reading this.
 */
import { dirname, posix } from 'node:path';

export interface Documents {
  /** Every file of the project, by its path from the root. */
  readonly files: readonly string[];
  /** The documents (`.md`) among them. */
  readonly texts: ReadonlyMap<string, string>;
  readonly commands: ReadonlySet<string>;
}

export const PAGE = 'DEVELOPERS.md';
const PAGE_LINES = 90;
const PAGE_WORDS = 900;
const ROOM_LINES = 40;
const RECORD_LINES = 40;
const COLUMNS = 120;
/** A folder with fewer product files may be covered by the README above it. */
const ROOM_FILES = 4;
const PRODUCT = /^(config|gateway|simulator|ui)\/.*\.(ts|mjs|svelte|css)$/;
const RECORD = /^(.+)\/decisions\/(\d{4})-[a-z0-9-]+\.md$/;
const RECORD_PARTS = ['Date', 'Context', 'Choice', 'Tried', 'Would change it'];
const ROOM_PARTS = ['- **In:**', '- **Out:**', '## Files, in reading order', '## To add', '## Limits'];
const KINDS = 'ts|mjs|svelte|css|json|yaml|md|js|html|png';

const linesOf = (text: string): string[] => text.trimEnd().split('\n');
const isRoomReadme = (path: string): boolean => path.endsWith('/README.md');

function tooWide(text: string): string[] {
  return linesOf(text).flatMap((line, index) =>
    line.length > COLUMNS && !line.startsWith('|') ? [`line ${index + 1} has ${line.length} columns`] : [],
  );
}

function tooLong(text: string, most: number): string[] {
  const { length } = linesOf(text);
  return length > most ? [`${length} lines, ${most} at most`] : [];
}

/** Faults of one document, each with its name before it. */
function said(path: string, faults: readonly string[]): string[] {
  return faults.map((fault) => `${path}: ${fault}`);
}

export function pageFaults({ texts }: Documents): string[] {
  const text = texts.get(PAGE) ?? '';
  const words = text.split(/\s+/).filter((word) => /\w/.test(word)).length;
  return said(PAGE, [
    ...(text === '' ? ['is not there'] : []),
    ...tooLong(text, PAGE_LINES),
    ...(words > PAGE_WORDS ? [`${words} words, ${PAGE_WORDS} at most`] : []),
    ...tooWide(text),
  ]);
}

/** Every folder that needs a README of its own and has none. */
function roomsWithout({ files, texts }: Documents): string[] {
  const sizes = new Map<string, number>();
  for (const file of files) if (PRODUCT.test(file)) sizes.set(dirname(file), (sizes.get(dirname(file)) ?? 0) + 1);
  return [...sizes]
    .filter(([room, size]) => size >= ROOM_FILES && !texts.has(`${room}/README.md`))
    .map(([room]) => `${room}: has no README.md`);
}

/** What a README speaks for: the product files of its folder and of folders below without a README; rooms below. */
export function covered({ files, texts }: Documents, readme: string): string[] {
  const room = dirname(readme);
  if (room === 'tests' || room.startsWith('tests/')) return parts(files, room);
  const nearest = (path: string): string | null => {
    for (let at = dirname(path); at !== '.'; at = dirname(at)) if (texts.has(`${at}/README.md`)) return at;
    return null;
  };
  const rooms = [...texts.keys()].filter(isRoomReadme).map((path) => dirname(path));
  return [
    ...files.filter((file) => PRODUCT.test(file) && nearest(file) === room).map((file) => posix.relative(room, file)),
    ...rooms.filter((other) => nearest(other) === room).map((other) => `${posix.relative(room, other)}/`),
  ];
}

/** What a folder of tests is made of: its folders, and its loose files. */
function parts(files: readonly string[], room: string): string[] {
  const ours = files.filter((file) => file.startsWith(`${room}/`) && !file.endsWith('.md'));
  const below = ours.map((file) => file.slice(room.length + 1));
  const names = below.map((file) => (file.includes('/') ? `${file.split('/')[0]}/` : file));
  return [...new Set(names)].filter((name) => name.endsWith('/') || /\.(ts|mjs)$/.test(name));
}

function fileSection(text: string): string {
  return /^## Files, in reading order$([\s\S]*?)(?=^## |(?![\s\S]))/m.exec(text)?.[1] ?? '';
}

function namedIn(section: string): string[] {
  return [...section.matchAll(/`([\w./-]+(?:\.(?:ts|mjs|svelte|css)|\/))`/g)].map((match) => match[1]!);
}

export function roomFaults(documents: Documents): string[] {
  const readmes = [...documents.texts].filter(([path]) => isRoomReadme(path));
  return [
    ...roomsWithout(documents),
    ...readmes.flatMap(([path, text]) => {
      const named = namedIn(fileSection(text));
      const there = covered(documents, path);
      return said(path, [
        ...(linesOf(text)[0] === `# ${dirname(path)}` ? [] : [`does not begin with '# ${dirname(path)}'`]),
        ...ROOM_PARTS.filter((part) => !linesOf(text).some((line) => line.startsWith(part))).map(
          (part) => `has no '${part}'`,
        ),
        ...tooLong(text, ROOM_LINES),
        ...tooWide(text),
        ...there.filter((file) => !named.includes(file)).map((file) => `does not name ${file}`),
        ...named.filter((file) => !there.includes(file)).map((file) => `lists ${file}, which is not in this room`),
        ...named.filter((file, index) => named.indexOf(file) !== index).map((file) => `names ${file} twice`),
      ]);
    }),
  ];
}

export function recordFaults({ files, texts }: Documents): string[] {
  const records = files.filter((file) => file.includes('/decisions/'));
  const rooms = [...new Set(records.map((file) => file.replace(/\/decisions\/.*$/, '')))];
  const untold = rooms.filter((room) => !texts.get(`${room}/README.md`)?.includes('`decisions/`'));
  const numbers = records.flatMap((file) => Number(RECORD.exec(file)?.[2] ?? [])).filter((one) => one > 0);
  const gaps = numbers.map((_, index) => index + 1).filter((number) => !numbers.includes(number));
  const doubles = numbers.filter((number, index) => numbers.indexOf(number) !== index);
  return [
    ...untold.map((room) => `${room}/README.md: does not say that there are \`decisions/\``),
    ...gaps.map((number) => `decisions: number ${number} is missing`),
    ...doubles.map((number) => `decisions: number ${number} is given twice`),
    ...records.flatMap((file) => {
      const number = RECORD.exec(file)?.[2];
      if (number === undefined) return [`${file}: is not named NNNN-what-was-chosen.md`];
      const text = texts.get(file) ?? '';
      const found = [...text.matchAll(/^\*\*([A-Z][a-z ]+)\.\*\* \S/gm)].map((match) => match[1]);
      return said(file, [
        ...(text.startsWith(`# ${Number(number)}. `) ? [] : [`does not begin with '# ${Number(number)}. '`]),
        ...(found.join() === RECORD_PARTS.join() ? [] : [`has the parts ${found.join()}, not ${RECORD_PARTS.join()}`]),
        ...(/^\*\*Date\.\*\* \d{4}-\d\d-\d\d$/m.test(text) ? [] : ['has no date like 2026-11-30']),
        ...tooLong(text, RECORD_LINES),
        ...tooWide(text),
      ]);
    }),
  ];
}

/** Paths in any text that begin at the root, and names of files and folders in code spans. */
function pathsIn(text: string): string[] {
  const rooted = [...text.matchAll(/(?<![\w./-])(?:config|gateway|simulator|ui|tests)(?:\/[\w.-]*\w)+\/?/g)];
  const coded = [...text.matchAll(/`([^`\n]+)`/g)].flatMap((match) => match[1]!.split(/\s+/));
  const linked = [...text.matchAll(/\]\(([^)#:]+)\)/g)].map((match) => match[1]!);
  return [
    ...rooted.map((match) => match[0]),
    ...coded.filter((word) => new RegExp(`^\\.?\\w[\\w./-]*\\.(?:${KINDS})$`).test(word)),
    ...coded.filter((word) => /^[a-z][a-z-]*(\/[a-z-]+)*\/$/.test(word)),
    ...linked,
  ].filter((path) => !/NAME|FOLDER|artifacts/.test(path));
}

function exists(files: readonly string[], from: string, path: string): boolean {
  const places = [path, posix.normalize(`${from}/${path}`)].map((place) => place.replace(/\/$/, ''));
  return files.some(
    (file) =>
      places.some((place) => file === place || file.startsWith(`${place}/`)) ||
      (path.endsWith('/') ? file.includes(`/${path}`) : file.endsWith(`/${path}`)),
  );
}

/** Examples of the top README that name what only a user has. */
const USERS_OWN = new Set(['larch-cove.yaml', 'data/credentials.json']);

export function referenceFaults({ files, texts, commands }: Documents): string[] {
  const count = files.filter((file) => RECORD.test(file)).length;
  return [...texts].flatMap(([path, text]) => {
    const dead = pathsIn(text).filter((one) => !USERS_OWN.has(one) && !exists(files, dirname(path), one));
    const ran = [...text.matchAll(/\bnpm\s+(?:run\s+([a-z]+)|(start|test))\b/g)].map((match) => match[1] ?? match[2]!);
    const cited = [...text.matchAll(/\b[Dd]ecisions? (\d+)/g)].map((match) => Number(match[1]));
    return said(path, [
      ...[...new Set(dead)].map((one) => `names ${one}, which is not there`),
      ...[...new Set(ran)].filter((one) => !commands.has(one)).map((one) => `names 'npm run ${one}', which is none`),
      ...cited.filter((number) => number > count).map((number) => `cites decision ${number}, which is none`),
    ]);
  });
}

/** What only those know who were there when a line was written: tickets, machines, who worked beside whom. */
const UNKNOWN_TO_READERS = [
  /\bissues? #?\d+/i,
  /(?:^|\s)#\d+/,
  /(?:^|[\s(`'"])\/(?:home|root|tmp|usr|var|opt|mnt|work|Users)\b/,
  /\b(?:this|earlier|last) session\b/i,
  /\bworktrees?\b/i,
  /\bhelpers?\b/i,
];

export function wordFaults({ texts }: Documents): string[] {
  return [...texts].flatMap(([path, text]) =>
    linesOf(text).flatMap((line, index) =>
      UNKNOWN_TO_READERS.flatMap((word) => {
        const found = word.exec(line)?.[0];
        return found === undefined ? [] : [`${path}: line ${index + 1} says '${found.trim()}'`];
      }),
    ),
  );
}
