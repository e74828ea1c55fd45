/**
 * `smirr prove` as a whole, from compiled files: the quick look finds nothing in the shipped core and
 * shows every cutoff; the same seed gives the same report; a core that is broken on purpose leads to a
 * small trace that `replay` opens. The command's options are tried through the command line.
 */
import { spawnSync } from 'node:child_process';
import {
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { Readable } from 'node:stream';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type * as SettingsCheck from '../../../controller/settings-check.js';
import { checkApart } from '../../../host-sim/files.js';
import type { Amount } from '../../../host-sim/prove/amount.js';
import { firstDifference, parseReport } from '../../../host-sim/prove/again.js';
import { evidencePage } from '../../../host-sim/prove/page.js';
import type * as ProveModule from '../../../host-sim/prove/prove.js';
import type { EvidenceReport } from '../../../host-sim/prove/report.js';
import type * as SubjectModule from '../../../host-sim/prove/subject.js';
import { evidenceText } from '../../../host-sim/prove/text.js';
import { wayRows } from '../../../host-sim/prove/ways.js';
import type * as TraceModule from '../../../host-sim/prove/trace.js';
import { smirr } from '../smirr.js';
import type { Calibration } from '../../../controller/calibration.js';
import { readCalibration } from '../../../host-sim/calibration/read.js';
import { compiled, DIST } from './compiled.js';

const SMALL: Amount = {
  ...{ asked: 'quick', random: 20, rounds: 1, states: 60, phases: 1 },
  faults: {
    ...{ everyTicks: 4000, traceEveryTicks: 4000, stickyTicks: 250, both: false },
    pairs: { points: 3, rounds: 0.001 },
  },
};

let folder = '';
let module: typeof ProveModule;
let calibration: Calibration;
let settings: ReturnType<typeof SettingsCheck.initialSettings>;
let shipped: SubjectModule.Subject;
beforeAll(async () => {
  folder = mkdtempSync(path.join(tmpdir(), 'smirr-prove-'));
  module = await compiled<typeof ProveModule>('host-sim/prove/prove.js');
  ({ SHIPPED: shipped } = await compiled<typeof SubjectModule>('host-sim/prove/subject.js'));
  const check = await compiled<typeof SettingsCheck>('controller/settings-check.js');
  settings = check.initialSettings();
  ({ calibration } = await readCalibration('boards/pico/calibration.yaml', Readable.from([])));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

function proveSmall(more: Partial<ProveModule.ProveOptions> = {}): ProveModule.Proved {
  return module.prove({
    ...{ settings, settingsName: 'initial settings', amount: SMALL, seed: 5 },
    ...{ calibration, pack: 'no image is built', date: '2026-01-31', onProgress: () => undefined },
    ...more,
  });
}

describe('the report', () => {
  let report: EvidenceReport;
  beforeAll(() => {
    ({ report } = proveSmall());
  });

  it('shows every cutoff and finds no violation in the shipped core', () => {
    const all = { edges: 'finished', search: 'finished', faults: 'finished' };
    const tried = { ...all, exhaustive: 'finished', chip: 'not tried' };
    expect(report.ways.tried).toEqual(tried);
    expect(report.outcome).not.toContain('stopped');
    expect(report.violations).toEqual([]);
    expect(report.passed).toBe(true);
    expect(report.cutoffs.filter(({ result }) => result !== 'held')).toEqual([]);
    expect(report.cutoffs.filter(({ letsGoResult }) => letsGoResult !== 'held')).toEqual([]);
  });

  it('has every change of a converter code in its tick, and no settings that break a rule', () => {
    expect(report.ways.codes.length).toBeGreaterThan(25);
    for (const { what, tookMs, dueMs } of report.ways.codes) expect(tookMs, what).toBe(dueMs);
    expect(report.ways.refused.tried).toBeGreaterThan(150);
    expect(report.ways.refused.accepted).toEqual([]);
  });

  it('is the same for the same seed, but for the date', () => {
    const again = proveSmall({ date: '2027-12-24' }).report;
    expect({ ...again, date: '' }).toEqual({ ...report, date: '' });
    expect(firstDifference(report, again)).toBe('');
  });

  it('says what is not shown: the board without an image, and what no try can reach', () => {
    expect(report.notShown).toContain('the emulated board: no image is built');
    expect(report.notShown.join('\n')).toContain('a real board: the chip was emulated');
  });

  it('is a page that names fingerprint, seed and every cutoff, and claims no compliance', () => {
    const page = evidencePage(report);
    for (const { id } of report.cutoffs) expect(page).toContain(`<b>${id}</b>`);
    expect(page).toContain('seed 5');
    expect(page).toContain('no image is built');
    expect(page).toContain('claims compliance with none');
    expect(page).not.toMatch(/<script|https?:/u);
    expect(evidencePage(report)).toBe(page);
  });

  it('reads back from its JSON', () => {
    expect(parseReport(JSON.stringify(report), 'r.json')).toEqual(
      JSON.parse(JSON.stringify(report)),
    );
  });

  it.each([
    ['{', 'r.json is no evidence report: '],
    ['{"kind":"other"}', 'it must have "kind": "smirr-evidence"'],
    ['{"kind":"smirr-evidence","formatVersion":2}', 'has formatVersion 2; this smirr reads 1'],
    [
      '{"kind":"smirr-evidence","formatVersion":1}',
      'r.json: seed is missing; it must be a whole number from 0 to 2147483647',
    ],
  ])('%s is refused in one sentence', (text, sentence) => {
    expect(() => parseReport(text, 'r.json')).toThrow(sentence);
  });

  /** The report with something else at a place; undefined takes it away. */
  function edited(place: string, value: unknown): string {
    const copy = JSON.parse(JSON.stringify(report)) as Record<string, unknown>;
    const names = place.split('.');
    const last = names.pop()!;
    const record = names.reduce((at, name) => at[name] as Record<string, unknown>, copy);
    record[last] = value;
    return JSON.stringify(copy);
  }

  it.each<[string, unknown, string]>([
    ['seed', -5, 'is -5; it must be a whole number from 0 to 2147483647'],
    ['seed', 1.5, 'is 1.5; it must be a whole number from 0 to 2147483647'],
    ['amount', 5000, 'is 5000; it must be "quick" or a number of hours from 0.01 to 100'],
    ['amount', 'slow', 'is "slow"; it must be "quick" or a number of hours from 0.01 to 100'],
    ['tested', undefined, 'is missing; it must be a record'],
    ['tested.bundleSha256', undefined, 'is missing; it must be text'],
    ['tested.settingsName', 3, 'is 3; it must be text'],
    ['tested.settings', [], 'is []; it must be a record'],
    ['tested.settings.burstMss', 1, 'is no setting; did you mean burstMs?'],
    ['tested.settings.burstMs', undefined, 'is missing'],
    ['tested.settings.burstMs', 99_000, 'breaks a rule: burst is 99 s; it must be '],
    [
      'tested.settings.tempOnDc',
      799,
      'breaks a rule: tempOn is 79.9 degC; it must be under tempHot',
    ],
    ['tested.traces', undefined, 'is missing; it must be a list of traces with name and sha256'],
    ['tested.traces', [{ name: 'a' }], 'is [{"name":"a"}]; it must be a list of traces with'],
    ['tested.reading', 'x', 'is "x"; it must be a record'],
    ['tested.reading.baro', 990, 'is nothing that says how traces are read'],
    ['tested.reading.between', 'spline', 'is "spline", which it cannot be'],
    ['tested.reading.tankUl', -1, 'is -1; it must be from 0 to the tank, 3000000'],
    ['tested.reading', { holdMs: 1 }, 'breaks a bound: --hold 0.001 s is out of range: 0.1..60 s'],
    ['general', undefined, 'is missing; it must be a list'],
    ['ways', 5, 'is 5; it must be a record'],
  ])('is refused with %s %j', (place, value, what) => {
    let fault: unknown;
    try {
      parseReport(edited(place, value), 'r.json');
    } catch (error) {
      fault = error;
    }
    expect(fault).toMatchObject({ code: 'E-PROVE-04', exit: 3, file: 'r.json', column: place });
    expect((fault as Error).message).toContain(`r.json: ${place} ${what}`);
  });

  it('of another core is told apart before anything is tried', async () => {
    const file = path.join(folder, 'other.json');
    writeFileSync(file, edited('tested.fingerprint', 'AAAA-AAAA').replace('"quick"', '100'));
    const { exit, out, err } = await smirr('prove', '--again', file);
    expect({ exit, err }).toEqual({ exit: 1, err: '' });
    expect(out).toMatch(
      /^it differs: tested\.fingerprint is "AAAA-AAAA" there and "[^"]*" here; it cannot come out the same, so nothing was tried\n$/u,
    );
    const { out: json } = await smirr('prove', '--again', file, '--json');
    expect(JSON.parse(json)).toMatchObject({ same: false, tried: false });
  });

  it('names the first place in which another differs', () => {
    const other = { ...report, ways: { ...report.ways, ticks: 1 } };
    expect(firstDifference(other, report)).toBe(
      `ways.ticks is 1 there and ${String(report.ways.ticks)} here`,
    );
  });
});

/** Stopped at the first violation: what was not tried is said so, not counted as none. */
function tellsThatItStopped(report: EvidenceReport): void {
  const rest = { search: 'not tried', faults: 'not tried', exhaustive: 'not tried' };
  expect(report.ways.tried).toEqual({ edges: 'stopped', ...rest, chip: 'not tried' });
  expect(report.outcome).toContain(
    'It stopped at the first violation: edges were not finished, search, faults, the exhaustive search and the chip were not tried.',
  );
  expect(report.notShown.join('\n')).not.toContain('never came');
  const text = evidenceText(report);
  expect(text).toContain('  tries of a minute: not tried;');
  expect(text).toContain('  faults, resets and changed bits: not tried;');
  expect(text).toContain('  small scope: not tried');
  expect(text).not.toMatch(/\b0 (?:random|fault|bits|points)|each found in the next tick/u);
  const rows = wayRows(report);
  expect(rows.filter(([, tried]) => tried === 'not tried').map(([way]) => way)).toEqual([
    ...['2. Search', '3. Faults: the demo runs', '3. Faults: pairs of kinds'],
    ...['3. Faults: changed bits', '4. Exhaustive', '5. Chip'],
  ]);
  expect(rows[0][1]).toMatch(/; it stopped there$/u);
  const page = evidencePage(report);
  expect(page).toContain('It stopped at the first violation');
  expect(page).toContain('<dt>tries of a minute</dt><dd>not tried</dd>');
}

describe('a core that is broken on purpose', () => {
  it('leads to a small trace that replay opens', async () => {
    // Disarming is not seen: the tick is told that the arm switch is closed.
    const tick: SubjectModule.Subject['tick'] = (core, readings) => {
      const { arm } = readings;
      readings.arm = 1;
      shipped.tick(core, readings);
      readings.arm = arm;
    };
    const { report, smallest } = proveSmall({ subject: { ...shipped, tick } });
    expect(report.passed).toBe(false);
    expect(report.violations).toHaveLength(1);
    expect(report.violations[0]).toMatchObject({ property: 'disarmed', replayable: true });
    expect(smallest?.plan.breakpoints.length).toBeLessThanOrEqual(2);
    expect(smallest?.plan.lengthMs).toBeLessThanOrEqual(200);
    tellsThatItStopped(report);
    const { traceOf } = await compiled<typeof TraceModule>('host-sim/prove/trace.js');
    const file = path.join(folder, 'violation.csv');
    writeFileSync(file, traceOf(smallest!.plan, smallest!.player));
    // The shipped core passes on the same trace.
    const { exit, out, err } = await smirr('replay', file, '--check');
    expect(exit, err).toBe(0);
    expect(out).toContain('disarmed');
    expect(out).toMatch(/check: \d+ properties held/u);
  });
});

describe('smirr prove', () => {
  it('passes the quick look, and writes a page', { timeout: 600_000 }, () => {
    const page = path.join(folder, 'evidence.html');
    const cli = path.join(DIST, 'host-sim/cli.js');
    const args = [cli, 'prove', '--quick', '--quiet', '--json', '--html', page];
    const { status, stdout, stderr } = spawnSync(process.execPath, args, {
      encoding: 'utf8',
      cwd: folder,
    });
    expect(status, stderr).toBe(0);
    const report = JSON.parse(stdout) as EvidenceReport;
    expect(report.ways.randomTries).toBeGreaterThanOrEqual(1000);
    expect(report.ways.faults.points).toBeGreaterThan(400);
    expect(report.ways.faults).toMatchObject({ pairs: 2080, pairsThere: 2080, pairPoints: 1000 });
    expect(report.cutoffs.every(({ result }) => result === 'held')).toBe(true);
    expect(readFileSync(page, 'utf8')).toContain('Evidence: does every cutoff cut off?');
  });

  it.each([
    [['--quick', '--hours', '2'], '--quick and --hours do not go together'],
    [['--hours', 'long'], '--hours is long; it must be a number from 0.01 to 100'],
    [['--seed', '1.5'], '--seed is 1.5; it must be a whole number from 0 to 2147483647'],
    [['--again', 'r.json', '--seed', '2'], '--seed does not go with --again'],
  ])('refuses %j', async (args, sentence) => {
    const { exit, out, err } = await smirr('prove', ...args);
    expect({ exit, out }).toEqual({ exit: 2, out: '' });
    expect(err).toContain(sentence);
  });

  // A run of 100 hours: that it ends at once shows that it never began.
  it.each(['--html', '--pdf', '--violation'])(
    'says before it begins that %s cannot be written, and leaves nothing',
    async (option) => {
      const before = readdirSync(folder);
      for (const file of [folder, path.join(folder, 'none', 'x')]) {
        const { exit, out, err } = await smirr('prove', '--hours', '100', option, file);
        expect({ exit, out }).toEqual({ exit: 3, out: '' });
        expect(err).toContain('E-FILE-04');
      }
      expect(readdirSync(folder)).toEqual(before);
    },
  );

  it('says before it begins that its page would take the place of its settings', async () => {
    const file = path.join(folder, 'car.yaml');
    const text = 'kind: smirr-settings\nversion: 1\nburst: 2 s\n';
    writeFileSync(file, text);
    const { exit, err } = await smirr('prove', '--hours', '100', '-s', file, '--html', file);
    expect(exit).toBe(3);
    expect(err).toContain('E-FILE-05');
    expect(readFileSync(file, 'utf8')).toBe(text);
  });

  it.each([
    [['--html', 'a.html', '--pdf', 'a.html'], '--html and --pdf both go to a.html'],
    [['--html', './x', '--violation', 'sub/../x'], '--html and --violation both go to sub/../x'],
    [['--pdf', 'violation.csv'], '--pdf and the default of --violation both go to violation.csv'],
    [
      ['--html', 'violation.settings.yaml'],
      '--html and the settings beside --violation both go to',
    ],
  ])('refuses two results in one file before it begins: %j', async (args, sentence) => {
    const { exit, out, err } = await smirr('prove', '--hours', '100', ...args);
    expect({ exit, out }).toEqual({ exit: 2, out: '' });
    expect(err).toContain(`smirr: ${sentence}`);
    expect(err).toContain('give each its own file [E-USAGE-02]');
  });

  it('sees two names of one file as one, and lets a device take several', async () => {
    const [one, other] = ['one.html', 'other.html'].map((name) => path.join(folder, name));
    writeFileSync(one, '');
    symlinkSync(one, other);
    const linked = await smirr('prove', '--hours', '100', '--html', one, '--violation', other);
    expect(linked.err).toContain('--html and --violation both go to');
    await expect(checkApart([...'ab'].map((name) => [name, '/dev/null']))).resolves.toBeUndefined();
  });

  it.each(['--html', '--pdf', '--violation'])('needs a file for %s', async (option) => {
    const { exit, err } = await smirr('prove', '--hours', '100', option, '-');
    expect(exit).toBe(2);
    expect(err).toContain(`${option} needs a file; it cannot be standard output (-)`);
  });

  it.each([
    ['demo:hott', 'demo:hott is no built-in demo; did you mean demo:hot? [E-USAGE-02]'],
    ['demo:hot', 'demo:hot is tried in any case; name recorded runs, or none [E-USAGE-02]'],
  ])('takes no demo: %s', async (demo, sentence) => {
    const { exit, err } = await smirr('prove', '--quick', demo);
    expect(exit).toBe(2);
    expect(err).toContain(`smirr: ${sentence}\n`);
  });

  it('names a report that is not there', async () => {
    const { exit, err } = await smirr('prove', '--again', path.join(folder, 'none.json'));
    expect(exit).toBe(3);
    expect(err).toContain('E-FILE-01');
  });
});
