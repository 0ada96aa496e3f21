/**
 * `npm run check -- SITE.yaml`: prints the pre-flight of a layout. Starts nothing and listens to nothing.
 *
 * In: the command line. Out: the sheet. Exit codes: 0 when it was printed, whatever it says; 2 when it cannot be.
 */
import { nearestWord } from '../../config/spelling.ts';
import { readSiteFile } from './site-file.ts';
import { preflightSheet } from './preflight-sheet.ts';

const HELP = `wetdown: would this lay work, before anybody turns the pump?

  npm run check -- [SITE.yaml]

  SITE.yaml   the site's layout (config/sites/larch-cove.yaml)
  --help      this text

Advisory only: a calculation from the layout. Ends with 0 also when heads are weak.
`;

function fail(words: string): never {
  console.error(words);
  process.exit(2);
}

const args = process.argv.slice(2);
const option = args.find((arg) => arg.startsWith('-') && arg !== '--help');
if (option !== undefined) {
  const nearest = nearestWord(option.replace(/^-+/, ''), ['help']);
  fail(`There is no option ${option}.${nearest === null ? '' : ` Did you mean --${nearest}?`} See --help.`);
}
if (args.includes('--help')) {
  console.log(HELP.trimEnd());
} else {
  const [path = 'config/sites/larch-cove.yaml', second] = args;
  if (second !== undefined) fail(`One site file at a time: '${second}' is one too many. See --help.`);
  const file = readSiteFile(path);
  if (!file.ok) fail(file.why);
  console.log(preflightSheet(file.layout).join('\n'));
}
