/**
 * What a start opens to whom: refuses what strangers could use, and says what is open.
 *
 * In: options and credentials. Out: a sentence why it will not start (null: it will), and lines for the terminal.
 * Beyond this machine the screen asks for a passphrase and the broker for a password, or the gateway does not start.
 */
import { readFileSync } from 'node:fs';
import { ROLES } from '../../config/wire/access.ts';
import { loosePermissions, type Credentials } from '../access/credentials.ts';
import type { Options } from './options.ts';

export interface TlsFiles {
  readonly cert: Buffer;
  readonly key: Buffer;
}

export function isLoopback(address: string): boolean {
  return /^(127(\.\d+){3}|::1|localhost)$/.test(address);
}

export function hasPassphrase({ passphrases }: Credentials): boolean {
  return passphrases.look !== null || passphrases.work !== null;
}

export function openingFault(
  { host, listen, broker, credentials: path }: Options,
  credentials: Credentials,
): string | null {
  const where = path ?? 'data/credentials.json';
  const remedy = (names: string): string =>
    `Set it first: 'npm run credentials -- ${names}${path === null ? '' : ` --file ${path}`}', then ` +
    `start with --credentials ${where}. Nothing was started.`;
  if (!isLoopback(host) && !hasPassphrase(credentials))
    return `--host ${host} would open the screen to the network without a passphrase. ${remedy('look work')}`;
  if (broker === null && !isLoopback(listen) && credentials.devices.size === 0)
    return (
      `--listen ${listen} would open the broker to the network without a password for any device. ` +
      `${remedy('DEVICE ...')}`
    );
  return null;
}

/** Certificate and key, or a sentence. */
export function readTls(
  files: Options['tls'],
): { readonly ok: true; readonly tls: TlsFiles | null } | { readonly ok: false; readonly why: string } {
  if (files === null) return { ok: true, tls: null };
  try {
    const loose = loosePermissions(files.key);
    if (loose !== null) return { ok: false, why: loose };
    return { ok: true, tls: { cert: readFileSync(files.cert), key: readFileSync(files.key) } };
  } catch (error) {
    return { ok: false, why: `Cannot read the certificate: ${error instanceof Error ? error.message : String(error)}` };
  }
}

export function openedWords(
  { host, listen, broker, tls }: Options,
  credentials: Credentials,
  ports: { readonly screen: number; readonly broker: number | null },
): string[] {
  const clear =
    tls === null
      ? ' WITHOUT encryption: who is on that network can read along, passphrases too; add --tls-cert and --tls-key'
      : ' over TLS';
  const devices = `${credentials.devices.size} ${credentials.devices.size === 1 ? 'device' : 'devices'}`;
  const lines: string[] = [];
  if (!isLoopback(host)) {
    const roles = ROLES.filter((role) => credentials.passphrases[role] !== null).join(' and ');
    lines.push(
      `open:    the screen, to the network on ${host} port ${ports.screen}, by passphrase (${roles}),${clear}`,
    );
  }
  if (broker === null && !isLoopback(listen))
    lines.push(
      `open:    the broker, to the network on ${listen} port ${ports.broker}, by password for ${devices},${clear}`,
    );
  return lines;
}
