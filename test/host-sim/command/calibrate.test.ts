/**
 * `smirr calibrate` from its command line: what it writes, what it keeps of a file that is there, and
 * what it refuses.
 */
import { mkdtemp, readFile, readdir, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { parseCalibration } from '../../../host-sim/calibration/read.js';
import { packagePath } from '../../../host-sim/package-folder.js';
import { smirr } from '../smirr.js';

const BENCH = `kind: smirr-readings
version: 1
board: pico
date: 2026-05-02
air: 985 hPa
charge:
  volts: { ice: 2.411 V, 41.5 degC: 1.107 V, boiling: 0.247 V }
boost:
  rail: 5.02 V
  volts: { 1000 hPa: 1.50 V, 1800 hPa: 2.31 V, 2500 hPa: 3.02 V }
tach: { idle: 850 rpm, frequency: 42.6 Hz }
flow: { catches: [41 ml, 42 ml, 40 ml, 41 ml, 43 ml, 41 ml], time: 10 s, pumpVoltage: 13.6 V }
`;

let folder: string;
let bench: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'smirr-calibrate-'));
  bench = await file('bench.yaml', BENCH);
});
afterAll(() => rm(folder, { recursive: true }));

async function file(name: string, text: string): Promise<string> {
  const path = join(folder, name);
  await writeFile(path, text);
  return path;
}

describe('smirr calibrate', () => {
  it('without --out says what it would write, and writes nothing', async () => {
    const before = await readdir(folder);
    const { exit, out, err } = await smirr('calibrate', bench);
    expect({ exit, err }).toEqual({ exit: 0, err: '' });
    expect(out).toContain('Calibration for board pico, measured 2026-05-02 (bench.yaml)\n');
    expect(out).toContain('  table of 32 points, worst error ');
    expect(out).toContain('Nothing was written: give the calibration file with --out');
    expect(await readdir(folder)).toEqual(before);
  });

  it('makes a calibration file that pack reads, with date, points and residuals as comments', async () => {
    const out = join(folder, 'new.yaml');
    expect((await smirr('calibrate', bench, '-o', out)).exit).toBe(0);
    const text = await readFile(out, 'utf8');
    const { calibration, flowUlps } = parseCalibration(text, 'new.yaml');
    expect(calibration.pulsesPerTwoRevolutions).toBe(6);
    expect(calibration.charge.codes.length).toBeGreaterThan(20);
    expect(flowUlps).toBe(4130);
    expect(text).toContain('# Measured, from bench.yaml: charge, boost, tach, flow.'.slice(2));
    expect(text).toContain(
      '# Measured 2026-05-02 (bench.yaml): thermistor under 2200 ohm.\n#   0 degC: 2.411 V, off by 0.00\n',
    );
    // Ambient was not measured: it is the board's typical one still.
    const typical = await readFile(packagePath('boards/pico/calibration.yaml'), 'utf8');
    expect(calibration.ambient).toEqual(parseCalibration(typical, 't').calibration.ambient);
  });

  it('updates a file: other lines and comments stay, an earlier measurement is replaced, twice is once', async () => {
    const typical = await readFile(packagePath('boards/pico/calibration.yaml'), 'utf8');
    const mine = typical
      .replace('# The same kind of sensor', '# My own words about ambient. The same kind of sensor')
      .replace('# Half the number', '# Taken from the left bank.\n# Half the number')
      .replace('humidity:', 'humidity: # none here\n ');
    const out = await file('mine.yaml', mine);
    await smirr('calibrate', bench, '-o', out);
    const once = await readFile(out, 'utf8');
    expect(once).toContain('# My own words about ambient.');
    expect(once).toContain('# Taken from the left bank.\n# Half the number');
    expect(once).toContain('# none here');
    expect(once.match(/^# Measured \d/gmu)).toHaveLength(4);
    const later = await file('later.yaml', BENCH.replace('2026-05-02', '2026-06-01'));
    await smirr('calibrate', later, '-o', out);
    const twice = await readFile(out, 'utf8');
    expect(twice).not.toContain('2026-05-02');
    expect(twice.replaceAll('2026-06-01 (later.yaml)', '2026-05-02 (bench.yaml)')).toBe(once);
  });

  it('fits an input that was not fitted, and widens a band that the table leaves', async () => {
    const typical = await readFile(packagePath('boards/pico/calibration.yaml'), 'utf8');
    const start = typical
      .replace(/^ambient:\n(?: .*\n)+/mu, 'ambient: not-fitted\n')
      .replace(/^level: switch/mu, 'level: not-fitted');
    expect(parseCalibration(start, 's').calibration.fitted & 8).toBe(0);
    const out = await file('bare.yaml', start);
    const readings = await file(
      'more.yaml',
      `kind: smirr-readings\nversion: 1\nboard: pico\ndate: 2026-05-02\ncharge: { ohms: { 0 degC: 32650.9 ohm, 25 degC: 10000 ohm, 70 degC: 1751.6 ohm } }\nambient: as-charge\nlevel: switch\n`,
    );
    expect(await smirr('calibrate', readings, '-o', out)).toMatchObject({ exit: 0 });
    const { calibration } = parseCalibration(await readFile(out, 'utf8'), 'bare');
    expect(calibration.fitted & 8).toBe(8);
    expect(calibration.ambient.codes).toEqual(calibration.charge.codes);
    for (const { codes, codeMin, codeMax } of [calibration.charge, calibration.ambient]) {
      expect(codeMin).toBeLessThanOrEqual(codes[0]);
      expect(codeMax).toBeGreaterThanOrEqual(codes[codes.length - 1]);
    }
  });

  it('writes a page with a picture a sensor, and no word of a file unescaped', async () => {
    const evil = await file('<b>&.yaml', BENCH);
    const html = join(folder, 'page.html');
    expect((await smirr('calibrate', evil, '--html', html)).exit).toBe(0);
    const page = await readFile(html, 'utf8');
    expect(page.match(/<svg /gu)).toHaveLength(3);
    expect(page).toContain('&lt;b&gt;&amp;.yaml');
    expect(page).not.toContain('<b>&');
    expect(page).not.toContain('NaN');
  });

  it('gives one JSON object', async () => {
    const { out } = await smirr('calibrate', bench, '--json');
    const found = JSON.parse(out) as { sensors: { group: string; worstDeviceError: number }[] };
    expect(found).toMatchObject({ board: 'pico', date: '2026-05-02', file: null });
    expect(found.sensors.map(({ group }) => group)).toEqual(['charge', 'boost', 'tach', 'flow']);
    expect(found.sensors[0].worstDeviceError).toBeLessThan(0.25);
  });

  it('refuses bad readings with exit code 3 and leaves the file as it was', async () => {
    const out = await file(
      'kept.yaml',
      await readFile(packagePath('boards/pico/calibration.yaml'), 'utf8'),
    );
    const before = await readFile(out, 'utf8');
    const bad = await file('bad.yaml', BENCH.replace('0.247 V', '1.247 V'));
    const { exit, err } = await smirr('calibrate', bad, '-o', out);
    expect(exit).toBe(3);
    expect(err).toContain('a thermistor falls as it gets warmer');
    expect(await readFile(out, 'utf8')).toBe(before);
  });

  it('refuses to update a file that is no calibration, and to write over its readings', async () => {
    const other = await file('car.yaml', 'kind: smirr-settings\nversion: 1\n');
    expect((await smirr('calibrate', bench, '-o', other)).err).toContain('E-CALIBRATION-01');
    const over = await smirr('calibrate', bench, '-o', bench);
    expect(over.exit).toBe(3);
    expect(await readFile(bench, 'utf8')).toBe(BENCH);
  });

  it.each([
    [['--out', '-'], 'calibrate writes to files; give --out and --html a name'],
    [['--out', 'x', '--html', 'x'], '--out and --html cannot be the same file'],
  ])('refuses %j', async (args, sentence) => {
    const { exit, err } = await smirr('calibrate', bench, ...args);
    expect(exit).toBe(2);
    expect(err).toContain(sentence);
  });
});
