/**
 * `smirr settings ...` as its user meets it, in-process: through the frame, with a terminal that
 * keeps what it was told. Each test works in a folder of its own.
 */
import { mkdtemp, readFile, readdir, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import { initialSettings } from '../../../controller/settings-check.js';
import { SETTINGS } from '../../../controller/settings.js';
import { formatSettings, settingsTableText } from '../../../host-sim/settings/format.js';
import { settingsSchema } from '../../../host-sim/settings/schema.js';
import { smirr } from '../smirr.js';

const HEAD = 'kind: smirr-settings\nversion: 1\n';

let folder: string;
const at = (name: string) => join(folder, name);

beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'smirr-test-'));
});
afterEach(() => rm(folder, { recursive: true }));

async function file(text: string): Promise<string> {
  await writeFile(at('car.yaml'), text);
  return at('car.yaml');
}

describe('smirr settings list', () => {
  it('prints the table', async () => {
    expect(await smirr('settings', 'list')).toEqual({ exit: 0, out: settingsTableText(), err: '' });
  });

  it('gives every setting as JSON', async () => {
    const { out } = await smirr('settings', 'list', '--json');
    const rows = JSON.parse(out) as { name: string }[];
    expect(rows).toHaveLength(SETTINGS.length);
    expect(rows[0]).toEqual({
      name: 'tempOn',
      initial: '45.0 degC',
      range: '10.0 degC to 90.0 degC',
      what: SETTINGS[0].what,
      why: SETTINGS[0].why,
    });
  });
});

describe('smirr settings init', () => {
  it('prints a file with all initial values, or writes it', async () => {
    const text = formatSettings(initialSettings());
    expect(await smirr('settings', 'init')).toEqual({ exit: 0, out: text, err: '' });
    expect(await smirr('settings', 'init', '-o', '-')).toEqual({ exit: 0, out: text, err: '' });
    const path = at('car.yaml');
    expect(await smirr('settings', 'init', '-o', path)).toEqual({
      exit: 0,
      out: '',
      err: `wrote ${path}\n`,
    });
    expect(await readFile(path, 'utf8')).toBe(text);
  });

  it('gives a settings file in JSON, which is read again', async () => {
    const { out } = await smirr('settings', 'init', '--json');
    expect(JSON.parse(out)).toEqual(parse(formatSettings(initialSettings())));
    expect(await smirr('settings', 'check', await file(out))).toMatchObject({ exit: 0 });
  });

  it('never replaces a file', async () => {
    const path = await file('mine');
    expect(await smirr('settings', 'init', '-o', path)).toEqual({
      exit: 3,
      out: '',
      err: `smirr: ${path} is there already and is not replaced by initial settings; choose another name [E-FILE-05]\n`,
    });
    expect(await readFile(path, 'utf8')).toBe('mine');
  });

  it('tells who names a file without -o', async () => {
    expect(await smirr('settings', 'init', 'car.yaml')).toEqual({
      exit: 2,
      out: '',
      err: "smirr: settings init reads no file; the result goes to a file with -o car.yaml [E-USAGE-02]\n'smirr settings --help' shows how to write it\n",
    });
  });
});

describe('smirr settings check', () => {
  it('says that a file is good, what it leaves out, and what to know', async () => {
    const path = await file(`${HEAD}tempOn: 118 degF\n`);
    const { exit, out, err } = await smirr('settings', 'check', path);
    expect([exit, err]).toEqual([0, '']);
    const lines = out.split('\n');
    expect(lines[0]).toBe(`${path} is good: it gives 1 of ${SETTINGS.length} settings.`);
    expect(lines[1]).toBe('Initial values are used for');
    expect(lines[2]).toMatch(/^ {2}tempHysteresis 3\.0 degC, tempHot 65\.0 degC, /u);
    expect(out).toContain('\nNote: tempOn is 118 degF, taken as 47.8 degC.\n');
    for (const line of lines.slice(1)) expect(line.length).toBeLessThanOrEqual(96);
  });

  it('says of a complete file only that it is good', async () => {
    const path = await file(formatSettings(initialSettings()));
    const count = SETTINGS.length;
    const out = `${path} is good: it gives ${count} of ${count} settings.\n`;
    expect(await smirr('settings', 'check', path)).toEqual({ exit: 0, out, err: '' });
  });

  it('gives the settings as JSON', async () => {
    const path = await file(`${HEAD}tempOn: 48 degC\n`);
    const { out } = await smirr('settings', 'check', path, '--json');
    const result = JSON.parse(out) as { filled: string[] };
    expect(result).toMatchObject({ file: path, valid: true, given: 1, notes: [] });
    expect(result).toMatchObject({ settings: { tempOn: '48.0 degC', precool: 'off' } });
    expect(result.filled).toHaveLength(SETTINGS.length - 1);
  });

  it('reads standard input as -', async () => {
    const { exit, out } = await smirr.with(`${HEAD}tempOn: 48 degC\n`)('settings', 'check', '-');
    expect(exit).toBe(0);
    expect(out).toMatch(/^standard input is good: it gives 1 of/u);
  });

  it('shows at most four lines of a bad file, each with its place and code', async () => {
    const path = await file(`${HEAD}tempOn: 48\nburst: 99 s\nrests: 3 s\nduty: 1\nrpm: 3\n`);
    const { exit, out, err } = await smirr('settings', 'check', path);
    expect([exit, out]).toEqual([3, '']);
    expect(err.split('\n')).toEqual([
      `smirr: ${path}, line 3, column 9: tempOn is 48; its unit is missing: write degC, °C, degF, °F or K after the number [E-SETTINGS-06]`,
      `smirr: ${path}, line 4, column 8: burst is 99 s; it must be 0.3 s to 10 s: a pump needs 0.3 s to build pressure; more than 10 s in one piece floods the fins [E-SETTINGS-07]`,
      `smirr: ${path}, line 5, column 1: rests is no setting; did you mean rest? [E-SETTINGS-04]`,
      'smirr: and 2 more; --json lists all',
      '',
    ]);
  });

  it('lists all faults with --json, the first as the error', async () => {
    const path = await file(`${HEAD}tempOn: 48\nrests: 3 s\n`);
    const { exit, err } = await smirr('settings', 'check', path, '--json');
    expect(exit).toBe(3);
    expect(JSON.parse(err)).toEqual({
      code: 'E-SETTINGS-06',
      message: `${path}, line 3, column 9: tempOn is 48; its unit is missing: write degC, °C, degF, °F or K after the number`,
      file: path,
      row: 3,
      column: '9',
      others: [
        {
          code: 'E-SETTINGS-04',
          message: `${path}, line 4, column 1: rests is no setting; did you mean rest?`,
          file: path,
          row: 4,
          column: '1',
        },
      ],
    });
  });

  it('shows no control characters of a file to the terminal', async () => {
    const path = await file(`${HEAD}"\\e[31mtempOn": 48 degC\n`);
    const { err } = await smirr('settings', 'check', path);
    expect(err).toContain('?[31mtempOn is no setting');
  });

  it('needs a file', async () => {
    expect(await smirr('settings', 'check', '-q')).toEqual({
      exit: 2,
      out: '',
      err: 'smirr: settings check needs a file: smirr settings check FILE [E-USAGE-02]\n',
    });
    const missing = await smirr('settings', 'check', at('no.yaml'));
    expect(missing).toMatchObject({ exit: 3 });
    expect(missing.err).toBe(`smirr: ${at('no.yaml')} is not there: no such file [E-FILE-01]\n`);
  });
});

describe('smirr settings schema', () => {
  it('prints the JSON Schema', async () => {
    const { exit, out } = await smirr('settings', 'schema');
    expect(exit).toBe(0);
    expect(JSON.parse(out)).toEqual(settingsSchema());
  });
});

describe('smirr settings upgrade', () => {
  it('completes the file itself, and then finds nothing to change', async () => {
    const text = `${HEAD}tempOn: 48 degC # lower\n`;
    const path = await file(text);
    const missing = SETTINGS.length - 1;
    expect(await smirr('settings', 'upgrade', path)).toEqual({
      exit: 0,
      out: '',
      err: `${path}: added ${missing} settings with initial values; wrote ${path}\n`,
    });
    const once = await readFile(path, 'utf8');
    expect(once.startsWith(text)).toBe(true);
    expect(await smirr('settings', 'upgrade', path)).toEqual({
      exit: 0,
      out: '',
      err: `${path} is complete and of version 1 already: nothing to change\n`,
    });
    expect(await readFile(path, 'utf8')).toBe(once);
    expect(await readdir(folder)).toEqual(['car.yaml']);
  });

  it('names the few that were missing', async () => {
    const text = formatSettings(initialSettings()).replace(/\n(tempOn|rpmMax): .*/gu, '');
    const { err } = await smirr('settings', 'upgrade', await file(text));
    expect(err).toContain(': added tempOn, rpmMax with initial values; wrote ');
  });

  it('leaves the file alone with --out, and copies a complete one', async () => {
    const text = `${HEAD}tempOn: 48 degC\n`;
    const path = await file(text);
    await smirr('settings', 'upgrade', path, '--out', at('new.yaml'));
    expect(await readFile(path, 'utf8')).toBe(text);
    const upgraded = await readFile(at('new.yaml'), 'utf8');
    expect(upgraded.startsWith(text)).toBe(true);
    await smirr('settings', 'upgrade', at('new.yaml'), '-o', at('copy.yaml'));
    expect(await readFile(at('copy.yaml'), 'utf8')).toBe(upgraded);
  });

  it('goes from standard input to standard output', async () => {
    const text = `${HEAD}tempOn: 48 degC\n`;
    const { out, err } = await smirr.with(text)('settings', 'upgrade', '-');
    expect(out.startsWith(text)).toBe(true);
    expect(err).toBe(`standard input: added ${SETTINGS.length - 1} settings with initial values\n`);
  });

  it('says what it did as JSON', async () => {
    const path = await file(`${HEAD}tempOn: 48 degC\n`);
    const { out } = await smirr('settings', 'upgrade', path, '--json', '-q');
    expect(JSON.parse(out)).toMatchObject({ file: path, out: path, changed: true, fromVersion: 1 });
    expect(await smirr.with(HEAD)('settings', 'upgrade', '-', '--json')).toMatchObject({
      exit: 2,
      out: '',
    });
  });

  it('leaves a bad file as it is', async () => {
    const path = await file(`${HEAD}tempOn: 48\n`);
    expect(await smirr('settings', 'upgrade', path)).toMatchObject({ exit: 3, out: '' });
    expect(await readFile(path, 'utf8')).toBe(`${HEAD}tempOn: 48\n`);
    expect(await readdir(folder)).toEqual(['car.yaml']);
  });
});
