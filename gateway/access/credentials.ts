/**
 * The credentials file: a sealed passphrase for each role, a sealed password for each device; no secret in clear.
 *
 * In: the path of a JSON file `{"wetdown-credentials":1,"look":SEAL,"work":SEAL,"devices":{"pump-box":SEAL}}`. Out:
 * credentials, or one sentence on what is wrong. A file that others on this machine may read is refused, and so is a
 * private key. Limit: permissions are checked where the file system has them; Windows has others.
 */
import { readFileSync, renameSync, statSync, writeFileSync } from 'node:fs';
import { ROLES } from '../../config/wire/access.ts';
import { isSealed } from './passphrase.ts';

export interface Credentials {
  readonly passphrases: { readonly look: string | null; readonly work: string | null };
  /** Device name, as in topics, to its seal. */
  readonly devices: ReadonlyMap<string, string>;
}

export type CredentialsFile =
  { readonly ok: true; readonly credentials: Credentials } | { readonly ok: false; readonly why: string };

export const NO_CREDENTIALS: Credentials = { passphrases: { look: null, work: null }, devices: new Map() };
const DEVICE_NAME = /^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$/;
const FORM = 'wetdown-credentials';

export function isDeviceName(name: string): boolean {
  return DEVICE_NAME.test(name);
}

/** Null when nobody else on this machine may read it; else a sentence. */
export function loosePermissions(path: string): string | null {
  if (process.platform === 'win32') return null;
  const mode = statSync(path).mode & 0o777;
  return (mode & 0o077) === 0
    ? null
    : `${path} can be read by others on this machine (mode ${mode.toString(8)}): run 'chmod 600 ${path}' ` +
        'first. Nothing was started.';
}

export function readCredentials(path: string): CredentialsFile {
  try {
    const loose = loosePermissions(path);
    if (loose !== null) return { ok: false, why: loose };
    return parseCredentials(readFileSync(path, 'utf8'), path);
  } catch (error) {
    return {
      ok: false,
      why: `Cannot read the credentials ${path}: ${error instanceof Error ? error.message : String(error)}`,
    };
  }
}

export function parseCredentials(text: string, path: string): CredentialsFile {
  // What is wrong is named without its content: it may be a secret that was typed into the wrong place.
  const wrong = (what: string): CredentialsFile => ({
    ok: false,
    why: `${path} is no credentials file: ${what}. Make one with 'npm run credentials'.`,
  });
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch {
    return wrong('it is not JSON');
  }
  const members = membersOf(value);
  if (members?.get(FORM) !== 1) return wrong(`"${FORM}": 1 is missing`);
  const unknown = [...members.keys()].find((name) => ![FORM, ...ROLES, 'devices'].includes(name));
  if (unknown !== undefined) return wrong('it has a member that is none of look, work, devices');
  const devices = membersOf(members.get('devices') ?? {});
  if (!devices) return wrong('devices is no object');
  for (const name of ROLES) if (members.has(name) && !isSeal(members.get(name))) return wrong(`${name} is not sealed`);
  for (const [name, sealed] of devices)
    if (!isDeviceName(name) || !isSeal(sealed))
      return wrong('a device has a name with other than letters, digits, dots and hyphens, or is not sealed');
  const sealOf = (name: string): string | null => (members.get(name) as string | undefined) ?? null;
  return {
    ok: true,
    credentials: {
      passphrases: { look: sealOf('look'), work: sealOf('work') },
      devices: devices as Map<string, string>,
    },
  };
}

/** Whole or not at all, and never readable by others, not even for a moment. */
export function writeCredentials(path: string, { passphrases: { look, work }, devices }: Credentials): void {
  const body = {
    [FORM]: 1,
    ...(look === null ? {} : { look }),
    ...(work === null ? {} : { work }),
    devices: Object.fromEntries(devices),
  };
  const beside = `${path}.${process.pid}.new`;
  writeFileSync(beside, `${JSON.stringify(body, null, 2)}\n`, { mode: 0o600, flag: 'wx' });
  renameSync(beside, path);
}

function isSeal(value: unknown): boolean {
  return typeof value === 'string' && isSealed(value);
}

function membersOf(value: unknown): Map<string, unknown> | null {
  return typeof value === 'object' && value !== null && !Array.isArray(value)
    ? new Map<string, unknown>(Object.entries(value))
    : null;
}
