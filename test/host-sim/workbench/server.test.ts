/**
 * The workbench's server: who gets an answer and what is in it. Requests are made with node:http, which
 * lets a test say any Host and Origin. The rules are those of the issue: 127.0.0.1 only, a token in the
 * address, Host and Origin checked (against DNS rebinding and foreign pages), a strict policy (W3C
 * Content Security Policy Level 3), nothing outside its own files.
 */
import { request, type IncomingHttpHeaders } from 'node:http';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { networkInterfaces, tmpdir } from 'node:os';
import { connect } from 'node:net';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { initialSettings } from '../../../controller/settings-check.js';
import { pageOf } from '../../../host-sim/report/style.js';
import type { Live } from '../../../host-sim/workbench/live.js';
import type { LiveLine } from '../../../host-sim/workbench/opened.js';
import { serve, type Workbench } from '../../../host-sim/workbench/server.js';

interface Got {
  readonly status: number;
  readonly headers: IncomingHttpHeaders;
  readonly body: string;
}

const folder = mkdtempSync(join(tmpdir(), 'smirr-open-'));
const tracePath = join(folder, 'run.csv');
const pagePath = join(folder, 'plan.html');
let workbench: Workbench;
let base: URL;

function get(path: string, headers: Record<string, string> = {}, method = 'GET'): Promise<Got> {
  return new Promise((resolve, reject) => {
    const asked = request(
      {
        host: '127.0.0.1',
        port: base.port,
        path,
        method,
        headers: { Host: base.host, ...headers },
      },
      (response) => {
        let body = '';
        response.setEncoding('utf8');
        response.on('data', (text: string) => (body += text));
        response.on('end', () =>
          resolve({ status: response.statusCode ?? 0, headers: response.headers, body }),
        );
      },
    );
    asked.on('error', reject);
    asked.end();
  });
}

const withToken = (path: string) => `${path}?token=${base.searchParams.get('token')}`;

beforeAll(async () => {
  writeFileSync(tracePath, 'time,rpm\n0,900\n');
  writeFileSync(pagePath, pageOf('day: plan', 'a plan'));
  workbench = await serve({
    opened: {
      version: '0',
      traces: [{ name: 'run.csv' }, { name: 'demo:hot', demo: 'demo:hot' }],
      settings: initialSettings(),
      settingsName: 'initial settings',
      reading: {},
    },
    paths: [tracePath, undefined],
    pagePaths: [pagePath, join(folder, 'gone.html')],
  });
  base = new URL(workbench.address);
});

afterAll(async () => {
  await workbench.close();
  rmSync(folder, { recursive: true });
});

describe('workbench server', () => {
  it('listens on 127.0.0.1 only, at an address with a long token', async () => {
    expect(base.hostname).toBe('127.0.0.1');
    expect(base.searchParams.get('token')).toMatch(/^[\w-]{32,}$/u);
    const others = Object.values(networkInterfaces())
      .flat()
      .filter((each) => each !== undefined && !each.internal && each.family === 'IPv4');
    for (const other of others) {
      const refused = await new Promise<boolean>((resolve) => {
        const socket = connect({ host: other!.address, port: Number(base.port) });
        socket.on('connect', () => resolve(false));
        socket.on('error', () => resolve(true));
      });
      expect(refused, other!.address).toBe(true);
    }
  });

  it('answers the printed address at once, without redirect', async () => {
    const { status, headers, body } = await get(`${base.pathname}${base.search}`);
    expect([status, headers.location]).toEqual([200, undefined]);
    expect(body).toContain('<title>smirr workbench</title>');
  });

  it.each([
    '/',
    '/page.js',
    '/page.css',
    '/opened.json',
    '/trace/0',
    '/page/0',
    '/live',
    '/live/recorded',
    '/nothing',
  ])('serves nothing at %s without the token, or with another', async (path) => {
    const token = base.searchParams.get('token')!;
    const turned = token.slice(0, -1) + (token.endsWith('A') ? 'B' : 'A');
    for (const query of ['', '?token=', '?token=x', `?token=${turned}`, `?Token=${token}`]) {
      const { status, body } = await get(path + query);
      expect([status, body]).toEqual([403, '']);
    }
  });

  it.each(['example.org', '127.0.0.1', '127.0.0.1:1', 'localhost', '[::1]:80', '0.0.0.0'])(
    'refuses the Host %s, as a name that was made to point here would send',
    async (host) => {
      const { status, body } = await get(withToken('/'), { Host: host });
      expect([status, body]).toEqual([403, '']);
    },
  );

  it.each(['http://example.org', 'null', 'https://127.0.0.1', 'http://127.0.0.1:1'])(
    'refuses the Origin %s',
    async (origin) => {
      expect((await get(withToken('/opened.json'), { Origin: origin })).status).toBe(403);
    },
  );

  it('refuses what a browser says another site asked for, and answers its own page', async () => {
    const site = (value: string) => get(withToken('/opened.json'), { 'Sec-Fetch-Site': value });
    expect((await site('cross-site')).status).toBe(403);
    expect((await site('same-site')).status).toBe(403);
    expect((await site('same-origin')).status).toBe(200);
    expect((await get(withToken('/opened.json'), { Origin: base.origin })).status).toBe(200);
  });

  it.each(['POST', 'PUT', 'DELETE', 'OPTIONS'])('answers no %s', async (method) => {
    expect((await get(withToken('/'), {}, method)).status).toBe(405);
  });

  it('has a policy without exceptions on every answer, refusals included', async () => {
    for (const path of [withToken('/'), withToken('/nothing'), '/']) {
      const { headers } = await get(path);
      const policy = String(headers['content-security-policy']);
      expect(policy).toContain("default-src 'none'");
      expect(policy).not.toMatch(/unsafe|https?:|\*/u);
      for (const part of ["base-uri 'none'", "form-action 'none'", "frame-ancestors 'none'"]) {
        expect(policy).toContain(part);
      }
      expect(headers['x-content-type-options']).toBe('nosniff');
      expect(headers['referrer-policy']).toBe('no-referrer');
      expect(headers['cache-control']).toBe('no-store');
      expect(headers['access-control-allow-origin']).toBeUndefined();
    }
  });

  it('hands out the bytes of a trace by its place, and no path of the file system', async () => {
    expect((await get(withToken('/trace/0'))).body).toBe('time,rpm\n0,900\n');
    const paths = ['/trace/1', '/trace/2', '/trace/-1', `/trace/..%2f..`, '/trace//etc/passwd'];
    for (const path of [...paths, '/../package.json', '/%2e%2e/package.json', '/package.json']) {
      const { status, body } = await get(withToken(path));
      expect([path, status, body]).toEqual([path, 404, '']);
    }
  });

  it('hands out a page of ours by its place, in which nothing can run or ask for anything', async () => {
    const { status, body, headers } = await get(withToken('/page/0'));
    expect([status, body]).toEqual([200, expect.stringContaining('a plan')]);
    const policy = String(headers['content-security-policy']);
    expect(policy).toMatch(/^default-src 'none'; style-src 'unsafe-inline';/u);
    expect(policy).toMatch(/; sandbox$/u);
    expect(policy).not.toMatch(/script|connect|allow|https?:|\*/u);
    for (const path of ['/page/1', '/page/2', '/page/-1', '/page/..%2fplan.html', '/page/']) {
      expect([path, (await get(withToken(path))).status]).toEqual([path, 404]);
    }
  });

  it('streams looks to whoever has the token, for as long as there is a controller', async () => {
    expect((await get(withToken('/live'))).status).toBe(404);
    expect((await get(withToken('/live/recorded'))).status).toBe(404);
    let take: (line: LiveLine) => void = () => undefined;
    let stopped = 0;
    const live: Live = {
      listen: (listener) => {
        take = listener;
        return () => void (stopped += 1);
      },
      recorded: () => Promise.resolve({ trouble: { code: 'E-RECORD-01', sentence: 'nothing' } }),
      close: () => Promise.resolve(),
    };
    const opened = JSON.parse((await get(withToken('/opened.json'))).body) as never;
    const watching = await serve({ opened, paths: [], live });
    const address = new URL(watching.address);
    address.pathname = '/live';
    expect((await fetch(new URL('/live', address))).status).toBe(403);
    const recorded = new URL(`/live/recorded${address.search}`, address);
    expect(await (await fetch(recorded)).json()).toMatchObject({
      trouble: { code: 'E-RECORD-01' },
    });
    const response = await fetch(address);
    expect(response.headers.get('content-security-policy')).toContain("default-src 'none'");
    const reader = response.body!.getReader();
    take({ trouble: { code: 'E-LINK-03', sentence: 'lost' } });
    const read = (await reader.read()) as { value: Uint8Array };
    expect(new TextDecoder().decode(read.value)).toBe(
      '{"trouble":{"code":"E-LINK-03","sentence":"lost"}}\n',
    );
    await reader.cancel();
    await expect.poll(() => stopped, { timeout: 20_000 }).toBe(1);
    await watching.close();
  });

  it('says 404 for a trace that has gone', async () => {
    const gone = await serve({
      opened: { ...JSON.parse((await get(withToken('/opened.json'))).body) } as never,
      paths: [join(folder, 'gone.csv')],
    });
    const { port, searchParams } = new URL(gone.address);
    const answer = await fetch(
      `http://127.0.0.1:${port}/trace/0?token=${searchParams.get('token')}`,
    );
    expect(answer.status).toBe(404);
    await gone.close();
  });
});
