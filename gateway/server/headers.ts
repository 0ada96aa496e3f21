/**
 * Who may talk to the server, and what its pages may do.
 *
 * Pages load nothing from elsewhere and run nothing inline. Other sites' pages may neither post nor listen: a browser names
 * the page's origin, which must be the host it talks to; on loopback that host must be this machine by name, so that a
 * foreign name pointed at 127.0.0.1 gets nothing. No header forces https: the gateway serves plain http on a field network.
 */
export const SECURITY_HEADERS: Readonly<Record<string, string>> = {
  'content-security-policy':
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; connect-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
  'cross-origin-resource-policy': 'same-origin',
  'referrer-policy': 'no-referrer',
  'x-content-type-options': 'nosniff',
};

const LOOPBACK = /^(127\.\d+\.\d+\.\d+|localhost|\[::1\])$/;

/** A request without an origin is no web page's. */
export function isOwnOrigin(origin: string | undefined, host: string | undefined): boolean {
  if (origin === undefined) return true;
  return URL.canParse(origin) && new URL(origin).host === host;
}

export function isOwnHost(host: string | undefined, loopbackOnly: boolean): boolean {
  return !loopbackOnly || LOOPBACK.test((host ?? '').replace(/:\d+$/, ''));
}
