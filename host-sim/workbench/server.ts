/**
 * The workbench's server: hands out the page, its script and style, what the command line named, and
 * the bytes of the traces and pages it named, to whoever has the token (see guard.ts). It writes nothing
 * and serves no path of the file system: a trace or a page is asked for by its place in the list.
 */
import { randomBytes } from 'node:crypto';
import { createReadStream, readFileSync } from 'node:fs';
import { createServer, type IncomingMessage, type Server, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { packagePath } from '../package-folder.js';
import { guardedHeaders, refusal, savedPageHeaders } from './guard.js';
import { pageHtml } from './html.js';
import type { Live } from './live.js';
import type { Opened } from './opened.js';
import { pageNow } from './pages.js';
import { pageStyle } from './style.js';

/** What the server hands out. */
export interface Served {
  readonly opened: Opened;
  /** Paths of the traces, by their place in `opened.traces`; undefined for a demo. */
  readonly paths: readonly (string | undefined)[];
  /** Paths of the pages, by their place in `opened.pages`. */
  readonly pagePaths?: readonly string[];
  /** Looks at `opened.device`. */
  readonly live?: Live;
}

export interface Workbench {
  /** With the token: the only address that is answered. */
  readonly address: string;
  readonly close: () => Promise<void>;
}

const BEHIND_BYTES_MAX = 1 << 20;

interface Answer {
  readonly type: string;
  readonly body: string | Uint8Array;
}

/** Starts it on a free port of 127.0.0.1. */
export async function serve(served: Served): Promise<Workbench> {
  const token = randomBytes(24).toString('base64url');
  const server = createServer();
  await new Promise<void>((resolve, reject) => {
    server.once('error', reject);
    server.listen(0, '127.0.0.1', resolve);
  });
  const { port } = server.address() as AddressInfo;
  server.on('request', (request, response) => {
    if (refusal(request, { token, port }) !== undefined) return end(response, 403);
    answer(request, response, served, token);
  });
  return {
    address: `http://127.0.0.1:${port}/?token=${token}`,
    close: () => closeServer(server),
  };
}

function closeServer(server: Server): Promise<void> {
  return new Promise((resolve) => {
    server.close(() => resolve());
    server.closeAllConnections();
  });
}

function answer(
  request: IncomingMessage,
  response: ServerResponse,
  served: Served,
  token: string,
): void {
  if (request.method !== 'GET') return end(response, 405);
  const { pathname } = new URL(request.url ?? '/', 'http://localhost');
  const trace = /^\/trace\/(\d{1,6})$/u.exec(pathname);
  if (trace !== null) return sendTrace(response, served.paths[Number(trace[1])]);
  const page = /^\/page\/(\d{1,6})$/u.exec(pathname);
  if (page !== null) return void sendPage(response, served.pagePaths?.[Number(page[1])]);
  if (pathname === '/live/recorded') return void sendRecorded(response, served.live);
  if (pathname === '/live') return sendLooks(response, served.live);
  const found = fileAt(pathname, served, token);
  if (found === undefined) return end(response, 404);
  response.writeHead(200, { ...guardedHeaders(), 'Content-Type': found.type });
  response.end(found.body);
}

function fileAt(pathname: string, { opened }: Served, token: string): Answer | undefined {
  switch (pathname) {
    case '/':
      return { type: 'text/html; charset=utf-8', body: pageHtml(token) };
    case '/page.css':
      return { type: 'text/css; charset=utf-8', body: pageStyle() };
    case '/page.js':
      return { type: 'text/javascript; charset=utf-8', body: pageScript() };
    case '/opened.json':
      return { type: 'application/json; charset=utf-8', body: JSON.stringify(opened) };
    default:
      return undefined;
  }
}

/** The script that `npm run build` bundled. */
function pageScript(): Uint8Array {
  return readFileSync(packagePath('dist/workbench/page.js'));
}

function sendTrace(response: ServerResponse, path: string | undefined): void {
  if (path === undefined) return end(response, 404);
  const file = createReadStream(path);
  file.once('error', () => end(response, 404));
  file.once('open', () => {
    response.writeHead(200, { ...guardedHeaders(), 'Content-Type': 'application/octet-stream' });
    file.pipe(response);
  });
}

/** A line of JSON a look, for as long as the page listens. */
function sendLooks(response: ServerResponse, live: Live | undefined): void {
  if (live === undefined) return end(response, 404);
  response.writeHead(200, { ...guardedHeaders(), 'Content-Type': 'application/x-ndjson' });
  response.flushHeaders();
  const stop = live.listen((line) => {
    // A page that sleeps takes nothing: looks it would take minutes late are of no use to it.
    if (response.writableLength < BEHIND_BYTES_MAX) response.write(`${JSON.stringify(line)}\n`);
  });
  response.once('close', stop);
}

/** What the controller recorded, replayed by the host's core. */
async function sendRecorded(response: ServerResponse, live: Live | undefined): Promise<void> {
  if (live === undefined) return end(response, 404);
  const answer = await live.recorded();
  response.writeHead(200, { ...guardedHeaders(), 'Content-Type': 'application/json' });
  response.end(JSON.stringify(answer));
}

/** A page that smirr wrote, as it lies there now. */
async function sendPage(response: ServerResponse, path: string | undefined): Promise<void> {
  const body = path === undefined ? undefined : await pageNow(path);
  if (body === undefined) return end(response, 404);
  response.writeHead(200, { ...savedPageHeaders(), 'Content-Type': 'text/html; charset=utf-8' });
  response.end(body);
}

function end(response: ServerResponse, status: number): void {
  if (!response.headersSent) response.writeHead(status, guardedHeaders());
  response.end();
}
