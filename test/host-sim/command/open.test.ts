/**
 * `smirr open` on the command line, up to the address it prints: what it takes and what it refuses. The
 * page itself is tested in test/host-sim/workbench/.
 */
import { describe, expect, it } from 'vitest';
import { handler, type OpenOptions } from '../../../host-sim/command/open.js';
import { recordingTerminal } from '../../../host-sim/terminal.js';
import { smirr } from '../smirr.js';

const NOTHING = { trace: undefined, settings: undefined, between: undefined, tank: undefined };
const UNREAD = { column: undefined, columns: undefined, baro: undefined, hold: undefined };
const OPTIONS: OpenOptions = {
  ...NOTHING,
  ...UNREAD,
  strict: undefined,
  page: undefined,
  car: undefined,
  weather: undefined,
  speed: undefined,
  port: undefined,
  'no-browser': true,
};

/** What it wrote to stdout, and what its own address answers while it serves. */
async function served(options: Partial<OpenOptions>, json = false) {
  const terminal = recordingTerminal({ json, quiet: true, verbose: false });
  let page = '';
  const code = await handler({ ...OPTIONS, ...options }, terminal, async ({ address }) => {
    page = await (await fetch(address)).text();
  });
  return { code, out: terminal.stdout(), page };
}

describe('smirr open', () => {
  it('needs no trace: the first fault is that of the settings file', async () => {
    const { exit, err } = await smirr('open', '--no-browser', '--settings', 'none.yaml');
    expect([exit, err]).toEqual([3, expect.stringMatching(/^smirr: none\.yaml .*\[E-FILE-01\]/u)]);
  });

  it('prints its address alone, or as JSON, and answers there', async () => {
    const plain = await served({});
    expect(plain.out).toMatch(/^http:\/\/127\.0\.0\.1:\d+\/\?token=[\w-]+\n$/u);
    expect(plain.page).toContain('<title>smirr workbench</title>');
    const json = await served({ trace: ['demo:hot'] }, true);
    expect(JSON.parse(json.out)).toEqual({ address: expect.stringContaining('?token=') as string });
  });

  it.each([
    [['demo:hut'], 2, /"?demo:hut"? is no built-in demo; did you mean demo:hot\?/u],
    [['-'], 2, /name a file/u],
    [['gone.csv'], 3, /gone\.csv .*\[E-FILE-01\]/u],
    [[''], 2, /trace is empty/u],
    [['--page', 'package.json'], 3, /package\.json is no page that smirr wrote \[E-OPEN-01\]/u],
    [['--page', 'gone.html'], 3, /gone\.html .*\[E-FILE-01\]/u],
    [['--speed', '80km/h'], 2, /--speed goes with --car/u],
    [['--car', 'gone.yaml'], 3, /gone\.yaml .*\[E-FILE-01\]/u],
    [['--page', 'docs'], 3, /docs is a folder.*\[E-FILE-02\]/u],
  ])('refuses %j', async (traces, code, sentence) => {
    const { exit, err } = await smirr('open', ...traces, '--no-browser');
    expect([exit, err]).toEqual([code, expect.stringMatching(sentence)]);
  });
});
