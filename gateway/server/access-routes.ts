/**
 * The lock on every address of the server: who is signed in, as what, and whether that is enough.
 *
 * In: sessions (null: a gateway on its own machine that asks nobody). Out: a hook that turns away whoever lacks the
 * role, and `/api/access` to sign in and out. What is not the screen's own files is closed unless a role opens it:
 * reading takes 'look', anything else 'work'. The routed pattern is judged, never the address as written, which can be
 * spelt in many ways. The session is in a cookie that scripts cannot read and other sites cannot use
 * (SameSite=Strict), besides the check of origins.
 */
import type { FastifyInstance, FastifyRequest } from 'fastify';
import Type from 'typebox';
import { PASSPHRASE_MAX, type AccessAnswer, type Role } from '../../config/wire/access.ts';
import { body, type Body } from '../../config/wire/body.ts';
import { SESSION_MS, type Sessions } from '../access/sessions.ts';
import { refuse } from './errors.ts';

export interface Lock {
  readonly door: Sessions | null;
  /** Over TLS the cookie is bound to this host and never sent in clear. */
  readonly secure: boolean;
  /** What happened at the door, without any secret. */
  readonly told: (words: string) => void;
}

const ADDRESS = '/api/access';
/** The screen itself shows nothing of a site: it must be there to sign in on. */
const OPEN_PATTERNS = new Set([ADDRESS, '/', '/*']);
const SIGN_IN_SCHEMA = body({ passphrase: Type.String({ minLength: 1, maxLength: PASSPHRASE_MAX }) });
const SIGN_IN_BYTES_MAX = 2_048;

/** The role of whoever asks; null where nobody is signed in, or nobody is asked. */
export function roleOf(request: FastifyRequest, { door, secure }: Lock): Role | null {
  return door === null ? null : door.roleOf(sessionIn(request, secure), Date.now());
}

export function addLock(app: FastifyInstance, lock: Lock): void {
  app.addHook('onRequest', async (request, reply) => {
    const pattern = request.routeOptions.url;
    if (lock.door === null || pattern === undefined || OPEN_PATTERNS.has(pattern)) return undefined;
    const role = roleOf(request, lock);
    if (role === null) return refuse(reply, 'access/sign-in');
    return role === 'work' || request.method === 'GET' || request.method === 'HEAD'
      ? undefined
      : refuse(reply, 'access/work-only');
  });
  app.get(ADDRESS, async (request): Promise<AccessAnswer> => ({
    asked: lock.door !== null,
    role: roleOf(request, lock),
  }));
  addSignIn(app, lock);
  app.delete(ADDRESS, async (request, reply): Promise<AccessAnswer> => {
    const session = sessionIn(request, lock.secure);
    if (session !== null) lock.door?.signOut(session);
    void reply.header('set-cookie', cookie(lock.secure, '', 0));
    return { asked: lock.door !== null, role: null };
  });
}

function addSignIn(app: FastifyInstance, lock: Lock): void {
  const { door } = lock;
  const options = { schema: { body: SIGN_IN_SCHEMA }, bodyLimit: SIGN_IN_BYTES_MAX };
  app.post<{ Body: Body<typeof SIGN_IN_SCHEMA> }>(ADDRESS, options, async (request, reply) => {
    if (door === null) return { asked: false, role: null } satisfies AccessAnswer;
    const signed = await door.signIn(request.body.passphrase, request.ip, Date.now());
    if (signed.kind === 'in') {
      lock.told(`Signed in to ${signed.role} from ${request.ip}.`);
      void reply.header('set-cookie', cookie(lock.secure, signed.session, SESSION_MS / 1_000));
      return { asked: true, role: signed.role } satisfies AccessAnswer;
    }
    if (signed.kind === 'wrong') {
      lock.told(`A wrong passphrase from ${request.ip}.`);
      return refuse(reply, 'access/wrong');
    }
    const waitS = Math.ceil(signed.waitMs / 1_000);
    return refuse(
      reply.header('retry-after', waitS),
      'access/wait',
      `Too many tries from here: wait ${waitS} s, then try again.`,
    );
  });
}

function cookieName(secure: boolean): string {
  return secure ? '__Host-wetdown' : 'wetdown';
}

function cookie(secure: boolean, session: string, seconds: number): string {
  return (
    `${cookieName(secure)}=${session}; Path=/; Max-Age=${seconds}; HttpOnly; ` +
    `SameSite=Strict${secure ? '; Secure' : ''}`
  );
}

function sessionIn(request: FastifyRequest, secure: boolean): string | null {
  const start = `${cookieName(secure)}=`;
  const found = (request.headers.cookie ?? '')
    .split(';')
    .map((part) => part.trim())
    .find((part) => part.startsWith(start));
  return found?.slice(start.length) ?? null;
}
