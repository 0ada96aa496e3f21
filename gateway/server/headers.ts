/**
 * Who may talk to the server, and what its pages may do.
 *
 * Pages load nothing from elsewhere and run nothing inline. Other sites' pages may neither post nor listen: a browser
 * names the page's origin, which must be the host it talks to; on loopback that host must be this machine by name, so
 * that a foreign name pointed at 127.0.0.1 gets nothing. No header forces https: the gateway serves plain http on a
 * field network.
 */
import type { IncomingHttpHeaders } from 'node:http';

export const SECURITY_HEADERS: Readonly<Record<string, string>> = {
  'content-security-policy':
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; " +
    "connect-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors " +
    "'none'",
  'cross-origin-resource-policy': 'same-origin',
  'cross-origin-opener-policy': 'same-origin',
  'permissions-policy': 'camera=(), geolocation=(), microphone=(), payment=(), usb=()',
  'referrer-policy': 'no-referrer',
  'x-content-type-options': 'nosniff',
};

/** What has its hash in its name is for ever; the page, its list and its worker are asked for anew each time. */
export function cacheRule(path: string): string {
  return path.includes('/assets/') ? 'public, max-age=31536000, immutable' : 'no-cache';
}

const LOOPBACK = /^(127\.\d+\.\d+\.\d+|localhost|\[::1\])$/;

/** A request without an origin is no web page's. */
export function isOwnOrigin(origin: string | undefined, host: string | undefined): boolean {
  if (origin === undefined) return true;
  return URL.canParse(origin) && new URL(origin).host === host;
}

/**
 * Current browsers say whether another site's page asks. A link to this page from elsewhere is fine: it only opens it.
 */
export function isOwnFetch(headers: IncomingHttpHeaders): boolean {
  const site = headers['sec-fetch-site'];
  return site === undefined || site === 'same-origin' || site === 'none' || headers['sec-fetch-mode'] === 'navigate';
}

export function isOwnHost(host: string | undefined, loopbackOnly: boolean): boolean {
  return !loopbackOnly || LOOPBACK.test((host ?? '').replace(/:\d+$/, ''));
}
