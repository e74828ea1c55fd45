/** `smirr course`: a run in a file or on stdout, that replay opens; one sentence for bad input. */
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { smirr } from '../smirr.js';

let folder: string;
beforeAll(() => (folder = mkdtempSync(join(tmpdir(), 'smirr-course-'))));
afterAll(() => rmSync(folder, { recursive: true }));

const at = (name: string) => join(folder, name);

const COURSE = `kind: smirr-course
version: 1
weather: {ambient: 28 degC, humidity: 40 %}
course:
  - idle: 4 s
  - start: 3 s
  - straight: 200 m
  - {corner: 120 deg, radius: 22 m}
  - straight: 150 m
  - {road: 60 m, speed: 40 km/h}
`;

function file(name: string, text: string): string {
  writeFileSync(at(name), text);
  return at(name);
}

describe('smirr course', () => {
  it('writes a run that replay opens with every column found by itself', async () => {
    const course = file('hill.yaml', COURSE);
    const made = await smirr('course', course, '-o', at('hill.csv'));
    expect(made.exit, made.err).toBe(0);
    expect(made.out).toBe('');
    expect(made.err).toMatch(/^wrote .*hill\.csv: \d+ rows, \d+\.\d s, up to \d+ km\/h\n$/u);
    const replayed = await smirr('replay', at('hill.csv'), '--json');
    expect(replayed.exit, replayed.err).toBe(0);
    const summary = JSON.parse(replayed.out) as { rows: { read: number; used: number } };
    expect(summary.rows.used).toBe(summary.rows.read);
  });

  it('gives the same bytes on stdout, with -o - and again', async () => {
    const course = file('again.yaml', COURSE);
    const { out } = await smirr('course', course);
    expect(out.split('\n')[0]).toBe(
      'Time [s],Engine speed [rpm],Boost [bar],Charge temperature [degC],Ambient temperature [degC],' +
        'Relative humidity [%],Vehicle speed [km/h],Supply voltage [V],level,armed,stage,button',
    );
    expect((await smirr('course', course, '-o', '-')).out).toBe(out);
    await smirr('course', course, '-o', at('again.csv'), '--quiet');
    expect(readFileSync(at('again.csv'), 'utf8')).toBe(out);
  });

  it('takes weather and a car: a hotter day, a weaker car', async () => {
    const course = file('w.yaml', COURSE);
    const car = file('slow.yaml', 'kind: smirr-car\nversion: 1\nvehicle: {mass: 4000 kg}\n');
    const rowsOf = async (...more: string[]) => {
      const { out, err, exit } = await smirr('course', course, ...more);
      expect(exit, err).toBe(0);
      return out
        .trimEnd()
        .split('\n')
        .slice(1)
        .map((line) => line.split(','));
    };
    const plain = await rowsOf();
    const hot = await rowsOf('--weather', '40degC,20%');
    expect(Number(hot[0][4]) - Number(plain[0][4])).toBeCloseTo(12, 0);
    expect((await rowsOf('--car', car)).length).toBeGreaterThan(plain.length);
    expect(await rowsOf('--car', 'default')).toEqual(plain);
  });

  it('--json says what was written', async () => {
    const { out } = await smirr('course', file('j.yaml', COURSE), '-o', at('j.csv'), '--json');
    expect(JSON.parse(out)).toMatchObject({ name: 'j.yaml', out: at('j.csv') });
  });

  it('--schema gives the schema', async () => {
    const { out } = await smirr('course', '--schema');
    expect(JSON.parse(out)).toMatchObject({ title: 'smirr course' });
  });
});

describe('bad input', () => {
  it('names place, value and bound, ends with 3 and leaves no file', async () => {
    const course = file('bad.yaml', COURSE.replace('22 m}', '22 mm}'));
    const { exit, err, out } = await smirr('course', course, '-o', at('none.csv'));
    expect(exit).toBe(3);
    expect(out).toBe('');
    expect(err).toContain('E-COURSE-06');
    expect(err).toContain('line 8, column 31: radius of piece 4 of course is 22 mm; mm is');
    expect(readdirSync(folder)).not.toContain('none.csv');
  });

  it.each([
    [['course'], 2, 'course needs a course file'],
    [
      ['course', 'COURSE', '--weather', '30'],
      2,
      '--weather is 30; 30 is no temperature, humidity or pressure with its unit',
    ],
    [['course', 'COURSE', '--weather', '30degC,31degC'], 2, 'it says ambient twice'],
    [
      ['course', 'COURSE', '--weather', '130%'],
      2,
      '--weather: humidity is 130%; it must be 0 % to 100 %',
    ],
    [['course', '-', '--car', '-'], 2, 'standard input (-) can be read only once'],
    [['course', 'nowhere.yaml'], 3, 'nowhere.yaml is not there: no such file'],
    [['course', 'COURSE', '-o', 'COURSE'], 3, 'is an input of this command and is not overwritten'],
    [['course', 'COURSE', '--car', 'COURSE'], 3, 'not smirr-car'],
    [['course', 'GAP'], 3, 'the gaps leave no row of the run'],
  ])('%j ends with %d and one sentence', async (args, exit, sentence) => {
    const course = file('ok.yaml', COURSE);
    const gap = file('gap.yaml', `${COURSE}gaps: [{from: 0 s, to: 500 s}]\n`);
    const given = args.map((each) => (each === 'COURSE' ? course : each === 'GAP' ? gap : each));
    const result = await smirr(...given);
    expect(result.err).toContain(sentence);
    expect(result.exit).toBe(exit);
    expect(result.err.trimEnd().split('\n').length).toBeLessThanOrEqual(4);
  });
});
