/**
 * Who may come in: the credentials and the certificate of a start.
 *
 * In: options. Out: both as read, and the door of the screen; a start that strangers could use is refused.
 */
import { NO_CREDENTIALS, readCredentials, type Credentials } from '../access/credentials.ts';
import { Sessions } from '../access/sessions.ts';
import { hasPassphrase, isLoopback, openingFault, readTls, type TlsFiles } from './exposure.ts';
import type { Options } from './options.ts';
import { orRefuse, refuse } from './refusal.ts';

export interface Entrance {
  readonly credentials: Credentials;
  readonly tls: TlsFiles | null;
  readonly loopbackOnly: boolean;
  /** Null: nobody is asked for anything. */
  readonly door: Sessions | null;
}

export function entranceOf(options: Options): Entrance {
  const credentials =
    options.credentials === null ? NO_CREDENTIALS : orRefuse(readCredentials(options.credentials)).credentials;
  const fault = openingFault(options, credentials);
  if (fault !== null) refuse(fault);
  return {
    credentials,
    tls: orRefuse(readTls(options.tls)).tls,
    loopbackOnly: isLoopback(options.host),
    door: hasPassphrase(credentials) ? new Sessions(credentials) : null,
  };
}
