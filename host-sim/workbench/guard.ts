/**
 * Who may ask the workbench's server for anything. It listens on 127.0.0.1 only; beyond that every
 * request must carry the token that stands in the printed address, must be addressed to this host and
 * port (a name that was made to point here would not be), and must not come from a page of another
 * origin. Takes a request, gives why it is refused, or undefined.
 */
import { timingSafeEqual } from 'node:crypto';
import type { IncomingMessage } from 'node:http';

/** What a request is held against. */
export interface Guard {
  readonly token: string;
  readonly port: number;
}

/** The addresses under which the page may be opened. */
function hosts(port: number): string[] {
  return [`127.0.0.1:${port}`, `localhost:${port}`];
}

/** Why a request is refused, for the log and the tests; undefined if it may pass. */
export function refusal(request: IncomingMessage, { token, port }: Guard): string | undefined {
  const { host, origin } = request.headers;
  const allowed = hosts(port);
  if (host === undefined || !allowed.includes(host)) return 'host';
  if (origin !== undefined && !allowed.some((each) => origin === `http://${each}`)) return 'origin';
  const site = request.headers['sec-fetch-site'];
  if (site !== undefined && site !== 'same-origin' && site !== 'none') return 'site';
  const given = new URL(request.url ?? '/', 'http://localhost').searchParams.get('token');
  return given !== null && isSame(given, token) ? undefined : 'token';
}

/** Compared in a time that does not say how much of it was right. */
function isSame(one: string, other: string): boolean {
  const [a, b] = [Buffer.from(one), Buffer.from(other)];
  return a.length === b.length && timingSafeEqual(a, b);
}

/** Nothing but the server's own files, no frames, no other origin. */
const POLICY = [
  "default-src 'none'",
  "script-src 'self'",
  "worker-src 'self'",
  "style-src 'self'",
  "connect-src 'self'",
  "img-src 'self' data:",
  "base-uri 'none'",
  "form-action 'none'",
  "frame-ancestors 'none'",
].join('; ');

/**
 * For a finished page of ours that is handed out as it lies on the disk: its own style and nothing else.
 * No script runs, and it counts as another origin, so that it could ask this server for nothing.
 */
const SAVED_POLICY =
  "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'; " +
  "frame-ancestors 'none'; sandbox";

/** What every answer carries. */
const HEADERS: Readonly<Record<string, string>> = {
  'Content-Security-Policy': POLICY,
  'Cross-Origin-Opener-Policy': 'same-origin',
  'Cross-Origin-Resource-Policy': 'same-origin',
  'Cache-Control': 'no-store',
  'Referrer-Policy': 'no-referrer',
  'X-Content-Type-Options': 'nosniff',
  'X-Frame-Options': 'DENY',
};

/** The headers of a page from the disk. */
export function savedPageHeaders(): Record<string, string> {
  return { ...HEADERS, 'Content-Security-Policy': SAVED_POLICY };
}

/** The headers of every answer, refusals included. */
export function guardedHeaders(): Record<string, string> {
  return { ...HEADERS };
}
