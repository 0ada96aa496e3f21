/** `npm run bench [-- NAME]`: one bench of this folder by its file's name; without a name the hydraulics. */
import { readdirSync } from 'node:fs';

const NAMES = readdirSync(import.meta.dirname)
  .filter((file) => file.endsWith('.ts'))
  .map((file) => file.replace(/\.ts$/, ''))
  .filter((name) => !['run', 'bench-site', 'bare-subscriber', 'day-record'].includes(name));
const [asked = '--'] = process.argv.slice(2);
const name = asked.startsWith('--') ? 'hydraulics' : asked;
if (NAMES.includes(name)) await import(`./${name}.ts`);
else {
  process.stderr.write(`There is no bench '${name}': ${NAMES.join(', ')}.\n`);
  process.exitCode = 2;
}
