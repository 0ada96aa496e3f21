/**
 * `npm run credentials`: makes and changes the credentials file. A new secret is shown once, here, and kept only
 * sealed.
 *
 * In: names (`look`, `work`, or a device as in its topic), `--file`, `--own` to type the secret instead (one line on
 * standard input), `--remove`. Out: exit code 0, or 2 with a sentence. A gateway that runs reads the file when it
 * starts next.
 */
import { existsSync, mkdirSync } from 'node:fs';
import { dirname } from 'node:path';
import { createInterface } from 'node:readline/promises';
import { parseArgs } from 'node:util';
import { isRole, ROLES } from '../../config/wire/access.ts';
import { isDeviceName, NO_CREDENTIALS, readCredentials, writeCredentials, type Credentials } from './credentials.ts';
import { DEVICE_COST, freshSecret, PERSON_COST, seal } from './passphrase.ts';

const HELP = `Passphrases for people and passwords for devices.

  npm run credentials -- look work pump-box end-a     a fresh secret for each, shown once
  npm run credentials -- work --own                   type it yourself (12 characters at least)
  npm run credentials -- end-a --remove
  npm run credentials                                 who has one

  look        may read everything
  work        may also acknowledge, note, set modes, take a baseline
  other names are devices: the MQTT user name, which is DEVICE in its topic wetdown/SITE/DEVICE/...

  --file FILE   data/credentials.json; start the gateway with --credentials FILE
`;
const OWN_MIN = 12;

class Wrong extends Error {}

async function main(): Promise<void> {
  let parsed;
  try {
    parsed = parseArgs({
      allowPositionals: true,
      options: {
        file: { type: 'string', default: 'data/credentials.json' },
        own: { type: 'boolean' },
        remove: { type: 'boolean' },
        help: { type: 'boolean' },
      },
    });
  } catch (error) {
    throw new Wrong(`${error instanceof Error ? error.message.split('.')[0] : String(error)}. See --help.`);
  }
  const { values, positionals: names } = parsed;
  if (values.help) return say(HELP);
  const bad = names.find((name) => !isDeviceName(name));
  if (bad !== undefined) throw new Wrong(`'${bad}' cannot be a name: letters, digits, dots and hyphens.`);
  if (values.own && names.length !== 1) throw new Wrong('--own is for one name at a time.');
  let credentials = readOr(values.file);
  if (names.length === 0) return say(list(credentials, values.file));
  for (const name of names) {
    const secret = values.remove ? null : values.own ? await ask(name) : freshSecret(isRole(name) ? 5 : 6);
    credentials = await change(credentials, name, secret);
    say(secret === null ? `${name}: removed` : values.own ? `${name}: set` : `${name.padEnd(16)} ${secret}`);
  }
  mkdirSync(dirname(values.file), { recursive: true });
  writeCredentials(values.file, credentials);
  say(`Kept, sealed, in ${values.file}. Start the gateway anew with --credentials ${values.file}.`);
}

function readOr(path: string): Credentials {
  if (!existsSync(path)) return NO_CREDENTIALS;
  const file = readCredentials(path);
  if (!file.ok) throw new Wrong(file.why);
  return file.credentials;
}

async function change(
  { passphrases, devices }: Credentials,
  name: string,
  secret: string | null,
): Promise<Credentials> {
  if (isRole(name))
    return {
      passphrases: { ...passphrases, [name]: secret === null ? null : await seal(secret, PERSON_COST) },
      devices,
    };
  const changed = new Map(devices);
  if (secret === null) changed.delete(name);
  else changed.set(name, await seal(secret, DEVICE_COST));
  return { passphrases, devices: changed };
}

async function ask(name: string): Promise<string> {
  process.stderr.write(`Secret for ${name}, then Enter (it is shown as you type): `);
  const lines = createInterface({ input: process.stdin });
  const { value } = (await lines[Symbol.asyncIterator]().next()) as { value: string | undefined };
  lines.close();
  const secret = (value ?? '').trim();
  if (secret.length < OWN_MIN || secret.length > 200)
    throw new Wrong(`Give ${OWN_MIN} to 200 characters: four words that do not belong together will do.`);
  return secret;
}

function list({ passphrases, devices }: Credentials, path: string): string {
  const names = [...ROLES.filter((role) => passphrases[role] !== null), ...devices.keys()];
  return names.length === 0 ? `${path} does not exist or is empty. See --help.` : `${path}: ${names.join(', ')}`;
}

function say(words: string): void {
  process.stdout.write(`${words}\n`);
}

main().catch((error: unknown) => {
  process.stderr.write(
    `${error instanceof Error ? (error instanceof Wrong ? error.message : error.stack) : String(error)}\n`,
  );
  process.exit(2);
});
