/**
 * Who may look and who may work: a passphrase for a role, a session for a passphrase.
 *
 * In: what somebody says, from which address, the wall's time in ms. Out: a session's secret, a wait, or no. Sessions
 * live in memory, under a hash of their secret, for a day; a restart of the gateway asks everybody again. Judgement: a
 * day is a shift and its handover. Signing in to work needs the passphrase of *work*, which may also look.
 */
import { createHash, randomBytes } from 'node:crypto';
import { ROLES, type Role } from '../../config/wire/access.ts';
import type { Credentials } from './credentials.ts';
import { opens } from './passphrase.ts';
import { Throttle } from './sign-in-delay.ts';

export type SignedIn =
  | { readonly kind: 'in'; readonly role: Role; readonly session: string }
  | { readonly kind: 'wrong' }
  | { readonly kind: 'wait'; readonly waitMs: number };

export const SESSION_MS = 86_400_000;
/** Judgement: screens of one site. The oldest goes first. */
const SESSIONS_MAX = 500;
/** Over all addresses: a person does not type faster, and the machine has the site to watch. */
const TRIES_A_SECOND = 4;
/** On a small machine a try takes a second: no more than so many stand in line. */
const IN_LINE_MAX = 6;
const LINE_WAIT_MS = 3_000;

interface Session {
  readonly role: Role;
  readonly endsMs: number;
}

export class Sessions {
  readonly #passphrases: Credentials['passphrases'];
  readonly #sessions = new Map<string, Session>();
  readonly #throttle = new Throttle(TRIES_A_SECOND);
  #inLine = 0;

  constructor(credentials: Credentials) {
    this.#passphrases = credentials.passphrases;
  }

  async signIn(passphrase: string, address: string, nowMs: number): Promise<SignedIn> {
    if (this.#inLine >= IN_LINE_MAX) return { kind: 'wait', waitMs: LINE_WAIT_MS };
    const who = networkOf(address);
    const waitMs = this.#throttle.begin(who, nowMs);
    if (waitMs > 0) return { kind: 'wait', waitMs };
    this.#inLine += 1;
    try {
      return await this.#try(passphrase, who, nowMs);
    } finally {
      this.#inLine -= 1;
    }
  }

  async #try(passphrase: string, who: string, nowMs: number): Promise<SignedIn> {
    for (const role of ROLES.toReversed()) {
      const sealed = this.#passphrases[role];
      if (sealed === null || !(await opens(passphrase, sealed))) continue;
      this.#throttle.passed(who);
      const session = randomBytes(32).toString('base64url');
      this.#sessions.set(digest(session), { role, endsMs: nowMs + SESSION_MS });
      if (this.#sessions.size > SESSIONS_MAX) this.#sessions.delete([...this.#sessions.keys()][0] ?? '');
      return { kind: 'in', role, session };
    }
    return { kind: 'wrong' };
  }

  roleOf(session: string | null, nowMs: number): Role | null {
    if (session === null) return null;
    const key = digest(session);
    const found = this.#sessions.get(key);
    if (found && nowMs < found.endsMs) return found.role;
    this.#sessions.delete(key);
    return null;
  }

  signOut(session: string): void {
    this.#sessions.delete(digest(session));
  }
}

/** Looking up a hash takes the same time whatever the guess. */
function digest(session: string): string {
  return createHash('sha256').update(session).digest('base64url');
}

/** In IPv6 one subscriber has a whole /64 of addresses. */
export function networkOf(address: string): string {
  if (!address.includes(':') || address.startsWith('::ffff:')) return address.replace('::ffff:', '');
  const [head = '', tail = ''] = address.split('::');
  const groups = head.split(':').filter((group) => group !== '');
  const missing = address.includes('::')
    ? 8 - groups.length - tail.split(':').filter((group) => group !== '').length
    : 0;
  return [...groups, ...Array.from({ length: missing }, () => '0'), ...tail.split(':')].slice(0, 4).join(':');
}
