/** A throw-away authority and a certificate for 127.0.0.1, made by openssl. */
import { execFileSync } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';

export interface Certificates {
  readonly ca: string;
  readonly cert: string;
  readonly key: string;
}

export function makeCertificates(folder: string): Certificates {
  const path = (name: string): string => join(folder, name);
  const openssl = (...args: readonly string[]): void => void execFileSync('openssl', args, { stdio: 'ignore' });
  const curve = ['-newkey', 'ec', '-pkeyopt', 'ec_paramgen_curve:P-256', '-nodes'];
  openssl(
    'req',
    '-x509',
    ...curve,
    '-keyout',
    path('ca.key'),
    '-out',
    path('ca.pem'),
    '-days',
    '2',
    '-subj',
    '/CN=test authority',
  );
  openssl('req', ...curve, '-keyout', path('host.key'), '-out', path('host.csr'), '-subj', '/CN=test host');
  writeFileSync(path('host.ext'), 'subjectAltName=IP:127.0.0.1,DNS:localhost\n');
  openssl(
    'x509',
    '-req',
    '-in',
    path('host.csr'),
    '-CA',
    path('ca.pem'),
    '-CAkey',
    path('ca.key'),
    '-CAcreateserial',
    '-out',
    path('host.pem'),
    '-days',
    '2',
    '-extfile',
    path('host.ext'),
  );
  return { ca: path('ca.pem'), cert: path('host.pem'), key: path('host.key') };
}
