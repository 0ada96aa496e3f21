/**
 * What a screen asks at the gateway's door: am I signed in, let me in, I go. Answers as data or as a sentence for the
 * person.
 */
import type { AccessAnswer } from '../../config/wire/access.ts';
import { ask, type Answer } from './requests.ts';

const ADDRESS = '/api/access';

export async function askAccess(patienceMs?: number): Promise<Answer<AccessAnswer>> {
  return ask(ADDRESS, {}, patienceMs);
}

export async function signIn(passphrase: string): Promise<Answer<AccessAnswer>> {
  return ask(ADDRESS, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ passphrase }),
  });
}

export async function signOut(): Promise<Answer<AccessAnswer>> {
  return ask(ADDRESS, { method: 'DELETE' });
}
