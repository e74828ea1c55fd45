/**
 * `smirr replay` as a user meets it, in-process: its options, several traces, results that appear
 * whole or not at all, and every kind of bad input as one sentence with exit 3. Each test works in a
 * folder of its own; all data are invented.
 */
import { existsSync, readFileSync } from 'node:fs';
import { mkdir, mkdtemp, readdir, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { SummaryJson } from '../../../host-sim/report/json.js';
import { demoCsv } from '../../../host-sim/trace/demo.js';
import { smirr } from '../smirr.js';

let folder: string;
const at = (name: string) => join(folder, name);
const text = (name: string) => readFileSync(at(name), 'utf8');

/** Writes a file into the test's folder; gives its path. */
async function file(name: string, content: string | Uint8Array): Promise<string> {
  await writeFile(at(name), content);
  return at(name);
}

beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'smirr-test-'));
});
afterEach(() => rm(folder, { recursive: true }));

const HEADER = 'Time [s],RPM,Boost [bar],Charge [degC]';

/** A CSV trace that asks for mist throughout, with a row every 100 ms. */
function asking(seconds: number, header = HEADER, cells = '4000,0.9,56'): string {
  const rows = Array.from(
    { length: seconds * 10 + 1 },
    (_, i) => `${(i / 10).toFixed(1)},${cells}`,
  );
  return `${[header, ...rows].join('\n')}\n`;
}

const settingsFile = (lines: string) => `kind: smirr-settings\nversion: 1\n${lines}\n`;

async function json(...args: string[]): Promise<SummaryJson> {
  const { exit, out, err } = await smirr('replay', ...args, '--json');
  expect([exit, err]).toEqual([0, '']);
  return JSON.parse(out) as SummaryJson;
}

describe('one trace', () => {
  it('gives a summary on stdout, and nothing on stderr', async () => {
    const { exit, out, err } = await smirr('replay', 'demo:hot');
    expect([exit, err]).toEqual([0, '']);
    expect(out).toMatch(/^demo:hot\n3 min 0 s, 8,998 ticks; initial settings\n/u);
    expect(out).toMatch(/Rows: 3,600 read = 3,600 used/u);
  });

  it('gives JSON with what the contract lists', async () => {
    const summary = await json('demo:faults');
    expect(Object.keys(summary)).toEqual(
      expect.arrayContaining(
        'ticks seconds sprays spraySeconds waterL dutyPct aboveOnSeconds reasons cutoffs rows'.split(
          ' ',
        ),
      ),
    );
    expect(Object.keys(summary.rows)).toEqual(['read', 'used', 'repaired', 'refused']);
    expect(summary.cutoffs['late-input']).toMatchObject({ count: 1 });
    expect(summary.ticks * 0.02).toBeCloseTo(summary.seconds, 6);
  });

  it('is the same from a file and from standard input', async () => {
    const csv = demoCsv('demo:hot');
    const path = await file('hot.csv', csv);
    const fromFile = await json(path);
    const piped = await smirr.with(csv)('replay', '-', '--json');
    const summary = JSON.parse(piped.out) as SummaryJson;
    expect(summary.trace).toBe('standard input');
    expect(fromFile.trace).toBe('hot.csv');
    expect({ ...summary, trace: '' }).toEqual({ ...fromFile, trace: '' });
  });

  it('writes the summary to --out instead, without colour, and - is stdout', async () => {
    const shown = await smirr('replay', 'demo:wet');
    const written = await smirr('replay', 'demo:wet', '-o', at('wet.txt'));
    expect(written).toEqual({ exit: 0, out: '', err: `wrote ${at('wet.txt')}\n` });
    expect(text('wet.txt')).toBe(shown.out);
    expect((await smirr('replay', 'demo:wet', '-o', '-')).out).toBe(shown.out);
    expect((await smirr('replay', 'demo:wet', '-o', at('q.txt'), '--quiet')).err).toBe('');
  });

  it('writes page and ticks, and says so', async () => {
    const { exit, err } = await smirr(
      ...['replay', 'demo:hot', '--html', at('hot.html'), '--ticks', at('hot.csv')],
    );
    expect([exit, err]).toEqual([0, `wrote ${at('hot.csv')}\nwrote ${at('hot.html')}\n`]);
    expect(text('hot.html')).toMatch(/^<!doctype html>/iu);
    expect(text('hot.csv').split('\n')).toHaveLength(1 + 8998 + 1);
    expect((await readdir(folder)).sort()).toEqual(['hot.csv', 'hot.html']);
  });

  it('text from a file is escaped in the page', async () => {
    const header = HEADER.replace('RPM', '"RPM <script>alert(1)</script>"');
    const path = await file('<img src=x>.csv', asking(5, header));
    const { exit } = await smirr('replay', path, '--html', at('page.html'));
    expect(exit).toBe(0);
    expect(text('page.html')).not.toMatch(/<script|<img/u);
    expect(text('page.html')).toContain('&lt;img');
  });
});

describe('options', () => {
  it('--settings decides; notes of the file are warnings', async () => {
    const settings = await file('car.yaml', settingsFile('tempOn: 60 degC\ntempHot: 70 degC'));
    const trace = await file('run.csv', asking(20));
    expect((await json(trace)).sprays.automatic).toBeGreaterThan(1);
    const strict = await json(trace, '--settings', settings);
    expect(strict).toMatchObject({ settings: 'car.yaml', sprays: { automatic: 0 } });
  });

  it('--compare shows two settings and where they first differ', async () => {
    const eager = await file('eager.yaml', settingsFile('burst: 2 s'));
    const trace = await file('run.csv', asking(30));
    const { exit, out } = await smirr('replay', trace, '--compare', eager);
    expect(exit).toBe(0);
    expect(out).toMatch(/^A {2}initial settings$/mu);
    expect(out).toMatch(/^B {2}eager\.yaml$/mu);
    const compared = (await json(trace, '--compare', eager)) as SummaryJson & {
      compare: SummaryJson;
      firstDifference: { seconds: number; reasons: string[] };
    };
    expect(compared.compare.settings).toBe('eager.yaml');
    expect(compared.firstDifference).toEqual({
      seconds: 2,
      reasons: ['spray-automatic', 'resting'],
    });
    const same = await json(trace, '--compare', await file('same.yaml', settingsFile('')));
    expect(same).toHaveProperty('firstDifference', null);
  });

  it('--tank is the water at the start, in its unit', async () => {
    const trace = await file('run.csv', asking(10));
    expect(await json(trace, '--tank', '1.5 L')).toMatchObject({ tankStartL: 1.5 });
    expect((await json(trace, '--tank', '0L')).sprays.automatic).toBe(0);
    for (const [tank, why] of [
      ['1.5', /^smirr: --?tank is 1\.5; its unit is missing/u],
      ['4L', /--tank is 4 L; it must be from 0 L to the tank of initial settings, 3 L/u],
      ['-1L', /--tank is -1 L; it must be from 0 L/u],
      ['3 bar', /tank/u],
    ] as const) {
      const { exit, err } = await smirr('replay', trace, `--tank=${tank}`);
      expect(exit).toBe(2);
      expect(err).toMatch(why);
    }
    const small = await file('small.yaml', settingsFile('tank: 1 L'));
    const { exit, err } = await smirr('replay', trace, '--tank', '2L', '--compare', small);
    expect(exit).toBe(2);
    expect(err).toMatch(/the tank of small\.yaml, 1 L/u);
  });

  it('--from-boot starts with a rest', async () => {
    const trace = await file('run.csv', asking(60));
    const long = await json(trace);
    const booted = await json(trace, '--from-boot');
    expect(booted.sprays.automatic).toBeLessThan(long.sprays.automatic);
    // The window begins full: the cutoff duty holds until it has emptied far enough.
    expect(booted.cutoffs['duty'].first).toBe(0);
    expect(long.cutoffs).toEqual({});
  });

  it('--baro makes boost of absolute pressure', async () => {
    const header = 'Time [s],RPM,MAP [kPa],Charge [degC]';
    const trace = await file('run.csv', asking(5, header, '4000,120,56'));
    expect(await json(trace, '--baro', '0.85bar')).toMatchObject({
      reference: { hpa: 850, source: 'option' },
      sprays: { automatic: 1 },
    });
    expect((await json(trace)).reasons).toHaveProperty('no-boost');
    expect((await smirr('replay', trace, '--baro', '850')).err).toMatch(/its unit is missing/u);
    expect((await smirr('replay', trace, '--baro', '85hPa')).exit).toBe(2);
  });

  it('--between says what is done between rows', async () => {
    const rows = asking(20).split('\n');
    const slow = rows.filter((_, i) => i === 0 || i % 5 === 1).join('\n') + '\n';
    const trace = await file('slow.csv', slow);
    expect((await json(trace)).between).toBe('linear');
    const held = await json(trace, '--between', 'hold');
    expect(held.between).toBe('hold');
    expect(held.notes.join()).toMatch(/--between linear/u);
    const { exit, err } = await smirr('replay', trace, '--between', 'spline');
    expect(exit).toBe(2);
    expect(err).toMatch(/hold or linear/u);
  });

  it('--column and --columns name columns; the option wins over the file', async () => {
    const header = 'Time [s],n1,n2,P [bar],T [degC]';
    const trace = await file('odd.csv', asking(5, header, '4000,100,0.9,56'));
    const map = await file(
      'map.yaml',
      'kind: smirr-columns\nversion: 1\ncolumns:\n  rpm: n2\n  boost: P\n  charge: T\n',
    );
    expect((await json(trace, '--columns', map)).reasons).toHaveProperty('engine-stopped');
    const named = await json(trace, '--columns', map, '--column', 'rpm=n1');
    expect(named.sprays.automatic).toBe(1);
    expect(named.columns.find(({ channel }) => channel === 'rpm')).toMatchObject({
      header: 'n1',
      named: true,
    });
    for (const column of ['rpm', '=n1']) {
      const { exit, err } = await smirr('replay', trace, '--column', column);
      expect(exit).toBe(2);
      expect(err).toContain(`--column ${column} must be NAME=HEADER, as in rpm="Engine RPM"`);
    }
    expect((await smirr('replay', trace, '--column', 'rmp=n1')).err).toMatch(/did you mean rpm/u);
    const missing = await smirr('replay', trace, '--column', 'rpm=n3');
    expect([missing.exit, missing.out]).toEqual([3, '']);
    expect(missing.err).toMatch(/odd\.csv, row 1: no column "n3" for rpm/u);
  });

  it('--strict refuses what is otherwise counted', async () => {
    const lines = asking(30).split('\n');
    lines[100] = lines[100].replace('4000', 'oops');
    const trace = await file('run.csv', lines.join('\n'));
    expect((await json(trace)).rows).toMatchObject({ read: 301, used: 300, refused: 1 });
    const { exit, err } = await smirr('replay', trace, '--strict');
    expect(exit).toBe(3);
    expect(err).toMatch(/run\.csv, row 101, column "RPM": "oops" is not a number/u);
  });

  it('--hold is for frames of one reading each', async () => {
    const frame = (seconds: number, data: string) => `(${seconds.toFixed(6)}) can0 7E8#${data}\n`;
    // PIDs 0C, 0B and 0F of SAE J1979: 4,000 rpm, 200 kPa, 56 degC; charge only at the start.
    let log = frame(1, '03410F6000000000');
    for (let i = 0; i < 100; i += 1) {
      log += frame(1.01 + i / 10, '04410C3E80000000') + frame(1.06 + i / 10, '03410BC800000000');
    }
    const trace = await file('can.log', log);
    const first = async (...more: string[]) => (await json(trace, ...more)).cutoffs['late-input'];
    expect((await first()).first).toBeCloseTo(2, 1);
    expect((await first('--hold', '5s')).first).toBeCloseTo(5, 1);
    const short = await smirr('replay', trace, '--hold', '0.1s');
    expect(short.exit).toBe(2);
    expect(short.err).toMatch(/--hold is 0\.1 s; it must be at least the lateAfter of initial/u);
    const csv = await file('run.csv', asking(2));
    const { exit, err } = await smirr('replay', csv, '--hold', '5s');
    expect([exit, err]).toEqual([
      0,
      'smirr: run.csv: --hold is not used; every row carries all readings\n',
    ]);
  });
});

describe('several traces', () => {
  it('give one JSON object with runs, in order', async () => {
    const { exit, out } = await smirr('replay', 'demo:wet', 'demo:hot', '--json');
    expect(exit).toBe(0);
    const { runs } = JSON.parse(out) as { runs: SummaryJson[] };
    expect(runs.map(({ trace }) => trace)).toEqual(['demo:wet', 'demo:hot']);
  });

  it('put pages and ticks into folders that are made, each file under a name of its own', async () => {
    await mkdir(at('one'));
    await mkdir(at('two'));
    const traces = [
      await file('one/run.csv', asking(2)),
      await file('two/run.csv', asking(3)),
      await file('two/RUN.txt', asking(4)),
      await file('index.csv', asking(5)),
      'demo:hot',
      '-',
    ];
    const { exit, err } = await smirr.with(asking(6))(
      ...['replay', ...traces, '--html', at('new/pages'), '--ticks', at('new/ticks')],
    );
    expect([exit, err]).toEqual([
      0,
      `wrote ${at('new/ticks')}\nwrote ${at('new/pages/index.html')}\n`,
    ]);
    const names = ['RUN-3', 'demo-hot', 'index-2', 'run', 'run-2', 'trace'];
    expect((await readdir(at('new/ticks'))).sort()).toEqual(
      names.map((name) => `${name}.csv`).sort(),
    );
    const pages = [...names, 'index'].map((name) => `${name}.html`);
    expect((await readdir(at('new/pages'))).sort()).toEqual(pages.sort());
    const index = text('new/pages/index.html');
    for (const name of names) expect(index).toContain(`/${name}.html"`);
    // 5 s at a tick every 20 ms, both ends included.
    expect(text('new/ticks/index-2.csv').trimEnd().split('\n')).toHaveLength(1 + 251);
  });

  it('of one name are told apart by their folders', async () => {
    await mkdir(at('one'));
    await mkdir(at('two'));
    const paths = [await file('one/run.csv', asking(2)), await file('two/run.csv', asking(3))];
    const { out } = await smirr('replay', ...paths, 'demo:wet', '--json');
    const { runs } = JSON.parse(out) as { runs: SummaryJson[] };
    expect(runs.map(({ trace }) => trace)).toEqual([...paths, 'demo:wet']);
  });

  it('may use one folder for both, and keep the summary there', async () => {
    const { exit } = await smirr(
      ...['replay', 'demo:hot', 'demo:wet', '--html', at('all'), '--ticks', at('all')],
      ...['-o', at('all/summary.txt')],
    );
    expect(exit).toBe(0);
    expect(await readdir(at('all'))).toHaveLength(6);
    expect(text('all/summary.txt')).toMatch(/^demo:hot[^]*\n\ndemo:wet\n/u);
  });

  it('a bad one ends the run: its name is in the message, and no summary is written', async () => {
    const bad = await file('bad.csv', 'no trace\n');
    const { exit, out, err } = await smirr(
      ...['replay', bad, 'demo:hot', '--html', at('a/b/pages'), '-o', at('all.txt')],
    );
    expect([exit, out]).toEqual([3, '']);
    expect(err).toMatch(/^smirr: bad\.csv/u);
    expect(await readdir(folder)).toEqual(['bad.csv']);
  });

  it('cannot go to a file', async () => {
    const page = await file('page.html', 'mine');
    const { exit, err } = await smirr('replay', 'demo:hot', 'demo:wet', '--html', page);
    expect(exit).toBe(3);
    expect(err).toBe(
      `smirr: ${page} cannot be made a folder, which several traces need [E-FILE-04]\n`,
    );
    expect(text('page.html')).toBe('mine');
  });
});

describe('results appear whole or not at all', () => {
  const ENDS = ['--html', '--ticks', '-o'] as const;

  it.each(ENDS)('%s in a folder that is not there leaves nothing', async (option) => {
    const others = ENDS.filter((each) => each !== option);
    const { exit, out, err } = await smirr(
      ...['replay', 'demo:wet', option, at('no/such')],
      ...others.flatMap((each, i) => [each, at(`other-${i}`)]),
    );
    expect([exit, out]).toEqual([3, '']);
    expect(err).toBe(
      `smirr: ${at('no/such')} cannot be written: there is no folder ${at('no')} [E-FILE-04]\n`,
    );
    expect(await readdir(folder)).toEqual([]);
  });

  it.each(ENDS)('%s that is a folder is refused', async (option) => {
    await mkdir(at('sub'));
    const { exit, err } = await smirr('replay', 'demo:wet', option, at('sub'));
    expect([exit, err]).toEqual([3, `smirr: ${at('sub')} is a folder, not a file [E-FILE-04]\n`]);
    expect(await readdir(folder)).toEqual(['sub']);
  });

  it.each(ENDS)('%s never replaces a file that the command reads', async (option) => {
    const inputs = {
      'run.csv': asking(2),
      'car.yaml': settingsFile('burst: 2 s'),
      'new.yaml': settingsFile('burst: 1 s'),
      'map.yaml': 'kind: smirr-columns\nversion: 1\ncolumns:\n  rpm: RPM\n',
    };
    for (const [name, content] of Object.entries(inputs)) await file(name, content);
    for (const [name, content] of Object.entries(inputs)) {
      const { exit, err } = await smirr(
        ...['replay', at('run.csv'), '-s', at('car.yaml'), '--compare', at('new.yaml')],
        ...['--columns', at('map.yaml'), option, join(folder, '.', name)],
      );
      expect(exit).toBe(3);
      expect(err).toMatch(/is an input of this command and is not overwritten \[E-FILE-05\]\n$/u);
      expect(text(name)).toBe(content);
    }
    expect((await readdir(folder)).sort()).toEqual(Object.keys(inputs).sort());
  });

  it('a bad trace leaves an older result as it was', async () => {
    const page = await file('page.html', 'older');
    const bad = await file('bad.csv', `${HEADER}\n0,4000,0.9,56\n1,x,0.9,56\n`);
    const { exit } = await smirr('replay', bad, '--html', page, '--ticks', at('ticks.csv'));
    expect(exit).toBe(3);
    expect(text('page.html')).toBe('older');
    expect((await readdir(folder)).sort()).toEqual(['bad.csv', 'page.html']);
  });

  it('two results in one file are refused before anything is read', async () => {
    const same = await smirr('replay', 'demo:hot', '--html', at('x'), '--ticks', join(folder, 'x'));
    expect([same.exit, existsSync(at('x'))]).toEqual([2, false]);
    expect(same.err).toContain(`${at('x')} is named for two results; give each its own file`);
    const index = await smirr(
      ...['replay', 'demo:hot', 'demo:wet', '--html', at('p'), '-o', at('p/index.html')],
    );
    expect([index.exit, existsSync(at('p'))]).toEqual([2, false]);
  });

  it.runIf(existsSync('/dev/full'))('a full disk is a fault of the file', async () => {
    for (const option of ENDS) {
      const { exit, err } = await smirr('replay', 'demo:wet', option, '/dev/full');
      expect([exit, err]).toEqual([3, 'smirr: /dev/full cannot be written (ENOSPC) [E-FILE-04]\n']);
    }
  });

  it('only --out can be standard output', async () => {
    const { exit, err } = await smirr('replay', 'demo:hot', '--ticks', '-');
    expect(exit).toBe(2);
    expect(err).toContain('--ticks needs a file; only --out can be standard output (-)');
  });
});

describe('bad usage', () => {
  it.each([
    [['replay'], 'an argument is missing; write smirr replay <trace..>'],
    [['replay', 'demo:hoot'], 'demo:hoot is no built-in demo; did you mean demo:hot?'],
    [
      ['replay', 'demo:zzzzz'],
      'demo:zzzzz is no built-in demo; it must be demo:hot, demo:wet or demo:faults',
    ],
    [['replay', '-', '-'], 'standard input (-) can be read only once'],
    [['replay', '-', '--settings', '-'], 'standard input (-) can be read only once'],
    [['replay', 'demo:hot', '--setings', 'x'], '--setings is no option of smirr replay'],
  ])('%j', async (args, sentence) => {
    const { exit, out, err } = await smirr(...args);
    expect([exit, out]).toEqual([2, '']);
    expect(err).toContain(sentence);
    expect(err.trimEnd().split('\n')).toHaveLength(2);
  });
});

describe('bad input', () => {
  const rows = (...cells: string[]) => `${[HEADER, ...cells].join('\n')}\n`;
  const WIDE = Array.from({ length: 996 }, (_, i) => `x${i}`).join(',');
  const ones = new Array(996).fill('1').join(',');

  const FILES: readonly (readonly [string, string | Uint8Array, string, RegExp])[] = [
    ['an empty file', '', 'E-TRACE-01', /bad\.csv is empty/],
    ['a binary', Uint8Array.from({ length: 999 }, (_, i) => i % 7), 'E-TRACE-02', /is not text/],
    ['a header without rows', rows(), 'E-TRACE-12', /has a header but no rows/],
    [
      'a column of words',
      rows('0,fast,0.9,56', '1,faster,0.9,56'),
      'E-TRACE-13',
      /row 2, column "RPM": "fast" is not a number/,
    ],
    [
      '1e99',
      rows('0,4000,0.9,56', '1,1e99,0.9,56'),
      'E-TRACE-13',
      /row 3, column "RPM": "1e99" rpm is out of range: 0\.\.20,000 rpm/,
    ],
    [
      'infinity',
      rows('0,4000,0.9,56', '1,4000,0.9,Infinity'),
      'E-TRACE-13',
      /row 3, column "Charge \[degC\]": "Infinity"/,
    ],
    [
      'numbers out of int32',
      rows('0,4000,0.9,56', '1,4000,99999999999,56'),
      'E-TRACE-13',
      /row 3, column "Boost \[bar\]": "99999999999" bar gauge is out of range/,
    ],
    [
      'a time out of int32',
      rows('0,4000,0.9,56', '9e9,4000,0.9,56'),
      'E-TRACE-15',
      /the limit is 24 h; .* before row 3/,
    ],
    [
      'a row of 10 MB',
      rows('0,4000,0.9,56', `1,4000,0.9,${'5'.repeat(10_000_000)}`),
      'E-TRACE-05',
      /row 3: the row is longer than 64 KB/,
    ],
    [
      'an unclosed quote',
      rows('0,4000,0.9,56', '1,"4000,0.9,56', '2,4000,0.9,56'),
      'E-TRACE-04',
      /row 3: a quoted cell is not closed/,
    ],
    [
      'a truncated file',
      `${rows('0,4000,0.9,56', '1,4000,0.9,56')}2,40`,
      'E-TRACE-13',
      /row 4: the last row is cut short: 2 of 4 cells/,
    ],
    [
      'a row wider than 1,000 columns',
      `${HEADER},${WIDE}\n0,4000,0.9,56,${ones}\n1,4000,0.9,56,${ones},1\n`,
      'E-TRACE-13',
      /row 3: the row has 1001 cells, the header 1000/,
    ],
    ['a settings file', settingsFile('burst: 2 s'), 'E-TRACE-03', /"smirr-settings", not a trace/],
  ];

  it.each(FILES)('%s is one sentence, exit 3', async (_, content, code, sentence) => {
    const path = await file('bad.csv', content);
    const ends = ['--html', at('p.html'), '--ticks', at('t.csv'), '-o', at('o.txt')];
    const { exit, out, err } = await smirr('replay', path, ...ends);
    expect([exit, out]).toEqual([3, '']);
    expect(err).toMatch(sentence);
    expect(err).toMatch(/^smirr: bad\.csv/u);
    expect(err).toContain(`[${code}]`);
    expect(err.trimEnd().split('\n')).toHaveLength(1);
    expect(err.length).toBeLessThan(400);
    expect(await readdir(folder)).toEqual(['bad.csv']);
  });

  it('1,000 columns are no fault', async () => {
    const path = await file('wide.csv', `${HEADER},${WIDE}\n0,4000,0.9,56,${ones}\n`);
    expect((await json(path)).rows).toMatchObject({ read: 1, used: 1 });
  });

  it('a file that is not there, and a folder', async () => {
    expect(await smirr('replay', at('none.csv'))).toEqual({
      exit: 3,
      out: '',
      err: `smirr: ${at('none.csv')} is not there: no such file [E-FILE-01]\n`,
    });
    expect((await smirr('replay', folder)).err).toMatch(/is a folder, not a file \[E-FILE-02\]/u);
  });

  it('with --json an error is an object on stderr', async () => {
    const path = await file('bad.csv', rows('0,4000,0.9,56', '1,1e99,0.9,56'));
    const { exit, out, err } = await smirr('replay', path, '--json');
    expect([exit, out]).toEqual([3, '']);
    const fault = JSON.parse(err) as Record<string, unknown>;
    expect(Object.keys(fault)).toEqual(['code', 'message', 'file', 'row', 'column']);
    expect(fault).toMatchObject({ code: 'E-TRACE-13', file: 'bad.csv', row: 3, column: 'RPM' });
  });

  it.each([
    ['a trace', () => asking(2), /begins with/u],
    ['a column map', () => 'kind: smirr-columns\nversion: 1\n', /kind smirr-columns/u],
    ['empty', () => '', /empty/u],
    ['with a name misspelt', () => settingsFile('tempOnn: 50 degC'), /did you mean tempOn/u],
    ['with a number without unit', () => settingsFile('tempOn: 50'), /unit/u],
    ['out of range', () => settingsFile('tempOn: 500 degC'), /must be 10\.0 degC to 90\.0 degC: /u],
  ])('a settings file that is %s', async (_, content, sentence) => {
    const settings = await file('car.yaml', content());
    for (const option of ['--settings', '--compare']) {
      const { exit, out, err } = await smirr('replay', 'demo:hot', option, settings);
      expect([exit, out]).toEqual([3, '']);
      expect(err).toMatch(sentence);
      expect(err).toMatch(/car\.yaml/u);
    }
  });

  it('many faults of a settings file take at most 4 lines', async () => {
    const lines = ['tempOn: 500 degC', 'burst: 99 s', 'duty: 9', 'flow: 1', 'tank: x', 'a: 1'];
    const settings = await file('car.yaml', settingsFile(lines.join('\n')));
    const { exit, err } = await smirr('replay', 'demo:hot', '-s', settings);
    expect(exit).toBe(3);
    expect(err.trimEnd().split('\n').length).toBeLessThanOrEqual(4);
  });
});

describe('the closed loop', () => {
  const car = () => file('car.yaml', 'kind: smirr-car\nversion: 1\n');

  it('says what the water won and where it went, in text and on the page', async () => {
    const { exit, out, err } = await smirr('replay', 'demo:hot', '--car', 'default');
    expect([exit, err]).toEqual([0, '']);
    expect(out).toMatch(/By the model the water cooled the charge by \d\.\d K on average/u);
    expect(out).toMatch(/\nmodel: default +without water +with it\ncharge, mean while/u);
    expect(out).toMatch(/\ndensity won +\d\.\d % /u);
    expect(out).toMatch(/\nran off +\d+\.\d ml /u);
    expect(out).toMatch(/\nTemperatures are a model's, of the car default, not measured ones/u);
    expect(Math.max(...out.split('\n').map((line) => line.length))).toBeLessThanOrEqual(80);
    await smirr('replay', 'demo:hot', '--car', 'default', '--html', at('hot.html'));
    expect(text('hot.html')).toContain('temperatures by the model, car default');
    expect(text('hot.html')).toContain('The thin broken charge line is the run without water.');
    expect(text('hot.html')).not.toContain('recorded ones');
  });

  it('gives JSON whose parts add up', async () => {
    const { model, waterL, aboveOnSeconds, chargeMaxC } = await json(
      ...['demo:hot', '--car', 'default', '--weather', '30degC,40%,950hPa'],
    );
    const { dry, wet, evaporatedL, runoffL, filmL, kelvinPerL, energyErrorPct, wonK } = model!;
    expect(model!.waterL).toBeCloseTo(evaporatedL + runoffL + filmL, 9);
    expect(model!.waterL).toBeCloseTo(waterL, 5);
    expect(wet.aboveOnSeconds).toBe(aboveOnSeconds);
    expect(wet.chargeMaxDegC).toBeCloseTo(chargeMaxC, 0);
    expect(dry.chargeMeanDegC! - wet.chargeMeanDegC!).toBeCloseTo(wonK!, 2);
    expect(kelvinPerL! * model!.waterL).toBeCloseTo(wonK!, 1);
    expect(energyErrorPct).toBeLessThan(0.1);
    expect(Object.keys(await json('demo:hot'))).not.toContain('model');
  });

  it('compares two settings in the same model', async () => {
    const more = await file('more.yaml', settingsFile('flow: 8 ml/s'));
    const { model, compare } = (await json(
      ...['demo:hot', '--car', await car(), '--compare', more, '--html', at('both.html'), '-q'],
    )) as SummaryJson & { compare: SummaryJson };
    expect(model!.car).toBe('car.yaml');
    expect(compare.model!.dry.chargeMaxDegC).toBe(model!.dry.chargeMaxDegC);
    expect(compare.model!.wonK).toBeGreaterThan(model!.wonK!);
    expect(text('both.html')).toContain('degrees won on average, K');
    expect(text('both.html')).toContain('What it won and where it went, B');
  });

  const CELLS = '4000,0.9,56';
  it.each([
    [['--weather', '30degC'], 2, '--weather goes with --car, which closes the loop by the model'],
    [['--speed', '80km/h'], 2, '--speed goes with --car, which closes the loop by the model'],
    [['--car', 'default'], 2, /^smirr: run\.csv has no vehicle speed, which blows the air/u],
    [
      ['--car', 'default', '--speed', '80km/h'],
      2,
      /^smirr: run\.csv has no ambient temperature; say/u,
    ],
    [['--car', 'default', '--speed', '80'], 2, /^smirr: --speed is 80; its unit is missing/u],
    [
      ['--car', 'default', '--speed', '0km/h'],
      2,
      '--speed is 0km/h; it must be from 1 to 400 km/h',
    ],
    [
      ['--car', 'default', '--weather', '70degC'],
      2,
      /^smirr: --weather: ambient is 70degC; it must/u,
    ],
    [['--car', 'none.yaml'], 3, /^smirr: none\.yaml is not there/u],
  ] as const)('%j is refused with one sentence', async (args, code, sentence) => {
    const run = await file('run.csv', asking(2, HEADER, CELLS));
    const { exit, out, err } = await smirr('replay', run, ...args);
    expect([exit, out]).toEqual([code, '']);
    if (typeof sentence === 'string') expect(err).toContain(`smirr: ${sentence} [E-`);
    else expect(err).toMatch(sentence);
  });

  it('needs no charge column, and takes the speed from the gears that a car file names', async () => {
    const header = 'Time [s],RPM,Boost [bar]';
    const run = await file('run.csv', asking(30, header, '4000,0.9'));
    const geared = await file(
      'geared.yaml',
      'kind: smirr-car\nversion: 1\nvehicle:\n  gears: 8, 13, 18 km/h (counted)\n',
    );
    const { notes, model, chargeMaxC } = await json(run, '--car', geared, '--weather', '35degC');
    expect(notes.join()).toContain('estimated from engine speed and the gears of the car');
    expect(model!.dry.chargeMaxDegC).toBeGreaterThan(40);
    expect(chargeMaxC).toBeLessThan(model!.dry.chargeMaxDegC);
    const { exit, err } = await smirr('replay', run);
    expect(exit).toBe(3);
    expect(err).toContain('no column for charge temperature');
  });
});
