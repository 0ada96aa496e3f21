/**
 * Seals a secret so that a file may hold it, and tells whether what somebody says opens the seal.
 *
 * In: a passphrase (any Unicode, NFC, at most 200 characters) or a sealed text. Out: `scrypt:LOGN:R:P:SALT:KEY`
 * (base64url), or yes and no. Method: scrypt (RFC 7914) from node:crypto; a person's passphrase at N = 2^15, r = 8, p =
 * 3 (32 MiB; from memory, a published minimum for passphrases), a generated device password of 120 bits at N = 2^14, p
 * = 1, so that fifty devices come back within seconds. At most two run at once: more would take the machine's memory
 * and its file threads.
 */
import { randomBytes, scrypt, timingSafeEqual } from 'node:crypto';

export interface SealCost {
  readonly logN: number;
  readonly r: number;
  readonly p: number;
}

export const PERSON_COST: SealCost = { logN: 15, r: 8, p: 3 };
export const DEVICE_COST: SealCost = { logN: 14, r: 8, p: 1 };

const SECRET_MAX = 200;
const KEY_BYTES = 32;
const RUNNING_MAX = 2;
const SEALED = /^scrypt:(1[0-7]):([1-9]|1[0-6]):([1-9]|1[0-6]):([\w-]{16,64}):([\w-]{43})$/;

let running = 0;
const queue: (() => void)[] = [];

export function isSealed(text: string): boolean {
  return SEALED.test(text);
}

export async function seal(secret: string, cost: SealCost): Promise<string> {
  const salt = randomBytes(16);
  const key = await derive(secret, salt, cost);
  return `scrypt:${cost.logN}:${cost.r}:${cost.p}:${salt.toString('base64url')}:${key.toString('base64url')}`;
}

export async function opens(secret: string, sealed: string): Promise<boolean> {
  const match = SEALED.exec(sealed);
  if (!match || secret === '' || secret.length > SECRET_MAX) return false;
  const [, logN, r, p, salt = '', key = ''] = match;
  const derived = await derive(secret, Buffer.from(salt, 'base64url'), {
    logN: Number(logN),
    r: Number(r),
    p: Number(p),
  });
  return timingSafeEqual(derived, Buffer.from(key, 'base64url'));
}

/** Letters and digits that are not mistaken for each other on a radio: five bits each, in groups of four. */
export function freshSecret(groups: number): string {
  const alphabet = '23456789abcdefghjkmnpqrstuvwxyz';
  const usable = 256 - (256 % alphabet.length);
  let letters = '';
  while (letters.length < groups * 4) {
    for (const byte of randomBytes(64)) if (byte < usable) letters += alphabet[byte % alphabet.length] ?? '';
  }
  return Array.from({ length: groups }, (_, group) => letters.slice(4 * group, 4 * group + 4)).join('-');
}

async function derive(secret: string, salt: Buffer, { logN, r, p }: SealCost): Promise<Buffer> {
  if (running >= RUNNING_MAX) await new Promise<void>((next) => void queue.push(next));
  else running += 1;
  try {
    return await new Promise((done, failed) => {
      const options = { N: 2 ** logN, r, p, maxmem: 2 ** 28 };
      scrypt(secret.normalize('NFC'), salt, KEY_BYTES, options, (error, key) => (error ? failed(error) : done(key)));
    });
  } finally {
    // The place is handed on, so that nobody slips in between.
    const next = queue.shift();
    if (next) next();
    else running -= 1;
  }
}
