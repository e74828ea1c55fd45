/**
 * Settings files as people write them, good and bad: each refusal with its exact sentence, its code
 * and its place. Sentences begin with the file's name, line and column.
 */
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { initialSettings } from '../../../controller/settings-check.js';
import { SETTINGS } from '../../../controller/settings.js';
import { Fault } from '../../../host-sim/fault.js';
import { parseSettings } from '../../../host-sim/settings/parse.js';
import { readSettings } from '../../../host-sim/settings/read.js';

const HEAD = 'kind: smirr-settings\nversion: 1\n';

function faultOf(text: string): Fault {
  try {
    parseSettings(text, 'car.yaml');
  } catch (error) {
    if (error instanceof Fault) return error;
    throw error;
  }
  throw new Error('the file was accepted');
}

/** All sentences of a refused file, without the file's name. */
function sentences(text: string): string[] {
  const fault = faultOf(text);
  return [fault, ...fault.others].map((each) => {
    expect(each.file).toBe('car.yaml');
    expect(each.exit).toBe(3);
    const place = `car.yaml, line ${each.row}, column ${each.column}: `;
    expect(each.message.startsWith(place)).toBe(true);
    return `${each.code} ${each.row}:${each.column} ${each.message.slice(place.length)}`;
  });
}

describe('a good settings file', () => {
  it('reads the examples of the documentation', () => {
    const text = `${HEAD}
tempOn: 48 degC     # a comment
boostOn: 0.6 bar
reserve: 0.5 L
duty: 40 %
rpmOn: 2500
burst: 3 s
minSpray: 300 ms
stageTime: 12 min
flow: 0.24 L/min
supplyLow: "9.5 V"
precool: on
`;
    const read = parseSettings(text, 'car.yaml');
    expect(read.settings).toEqual({
      ...initialSettings(),
      tempOnDc: 480,
      boostOnHpa: 600,
      reserveUl: 500_000,
      dutyPm: 400,
      rpmOnRpm: 2500,
      burstMs: 3000,
      minSprayMs: 300,
      stageTimeMs: 720_000,
      flowUlps: 4000,
      supplyLowMv: 9500,
      precool: 1,
    });
    expect(read.notes).toEqual([]);
    expect(read.filled).toHaveLength(SETTINGS.length - 11);
    expect(read.filled).toContain('tempHot');
    expect(read.filled).not.toContain('tempOn');
  });

  it('may be empty of settings: all take their initial values', () => {
    const read = parseSettings(HEAD, 'car.yaml');
    expect(read.settings).toEqual(initialSettings());
    expect(read.filled).toEqual(SETTINGS.map((row) => row.name));
  });

  it.each([
    ['JSON', '{"kind": "smirr-settings", "version": 1, "tempOn": "48 degC"}'],
    ['CRLF', `${HEAD}tempOn: 48 degC\n`.replaceAll('\n', '\r\n')],
    ['a byte order mark', `\uFEFF${HEAD}tempOn: 48 degC\n`],
    ['YAML 1.1 said at its top', `%YAML 1.1\n---\n${HEAD}tempOn: 48 degC\n`],
    ['another order', 'tempOn: 48 degC\nversion: 1\nkind: smirr-settings\n'],
    ['indented lines', '  kind: smirr-settings\n  version: 1\n  tempOn: 48 degC\n'],
  ])('may be written as %s', (_how, text) => {
    expect(parseSettings(text, 'car.yaml').settings.tempOnDc).toBe(480);
  });

  it('takes on, off, yes and no as words, in YAML 1.1 too', () => {
    const words = 'precool: on\nmanualAllowed: no\n';
    for (const text of [HEAD + words, `%YAML 1.1\n---\n${HEAD}${words}`]) {
      expect(parseSettings(text, 'car.yaml').settings).toMatchObject({
        precool: 1,
        manualAllowed: 0,
      });
    }
  });

  it('says what was rounded and what is surely not meant', () => {
    const text = `${HEAD}tempOn: 118 degF\ntempHysteresis: 9 degF\nfloor: 43 degC\n`;
    expect(parseSettings(text, 'car.yaml').notes).toEqual([
      'tempOn is 118 degF, taken as 47.8 degC',
      'floor is 43.0 degC, above tempOn minus tempHysteresis (42.8 degC): the cutoff wins, and ends bursts that the hysteresis would let go on',
    ]);
  });
});

describe('a bad value in a settings file', () => {
  it.each([
    [
      'tempOn: 48',
      '3:9 tempOn is 48; its unit is missing: write degC, °C, degF, °F or K after the number',
    ],
    [
      'lookAhead: 0',
      '3:12 lookAhead is 0; its unit is missing: write s, ms, min or h after the number',
    ],
    [
      'boostOn: 0.6 V',
      '3:10 boostOn is 0.6 V; V is the unit of a voltage, and this is a pressure: write hPa, bar, kPa, psi, mbar or Pa',
    ],
    ['tempOn: 48 degc', '3:9 tempOn is 48 degc; degc is no unit here; did you mean degC?'],
    ['rest: 0,5 s', '3:7 rest is 0,5 s; write a decimal point, and nothing between thousands'],
    ['rpmOn: fast', '3:8 rpmOn is fast; it must be a number and a unit (rpm, 1/min or r/min)'],
    ['rpmOn: .inf', '3:8 rpmOn is .inf; it must be a number and a unit (rpm, 1/min or r/min)'],
    [
      'rpmOn: 0x9C4',
      '3:8 rpmOn is 0x9C4; x9C4 is no unit of an engine speed: write rpm, 1/min or r/min',
    ],
    ['precool: true', '3:10 precool is true; it must be off or on'],
    ['precool: yes', '3:10 precool is yes; it must be off or on'],
    ['manualAllowed: false', '3:16 manualAllowed is false; it must be no or yes'],
    ['frostSensor: absent', '3:14 frostSensor is absent; it must be fitted or absent-accepted'],
    [
      'lookAhead: 0.2 ms',
      '3:12 lookAhead is 0.2 ms; it is finer than what is counted here and would become zero',
    ],
  ])('%s', (line, sentence) => {
    expect(sentences(`${HEAD}${line}\n`)).toEqual([`E-SETTINGS-06 ${sentence}`]);
  });

  it.each([
    [
      'tempOn: 95 degC',
      '3:9 tempOn is 95 degC; it must be 10.0 degC to 90.0 degC: below 10 degC mist wins nothing and may freeze; above 90 degC it would come too late',
    ],
    [
      'freeze: 35 degF',
      '3:9 freeze is 35 degF; it must be 3.0 degC to 20.0 degC: water freezes on the ground before the air reads 0 degC: never under 3 degC',
    ],
    [
      'rpmOn: 99999999999999999999999999999999999999999999999999',
      '3:8 rpmOn is 9999999999999999999999999999999999999999...; it must be 500 rpm to 12000 rpm: under 500 the engine hardly runs; over 12,000 it would never spray',
    ],
    // Rounded it would be 3.0 degC; the bound is for what is written.
    [
      'freeze: 2.96 degC',
      '3:9 freeze is 2.96 degC; it must be 3.0 degC to 20.0 degC: water freezes on the ground before the air reads 0 degC: never under 3 degC',
    ],
  ])('%s is out of range', (line, sentence) => {
    expect(sentences(`${HEAD}${line}\n`)).toEqual([`E-SETTINGS-07 ${sentence}`]);
  });

  it.each([
    ['tempOn:', '3:8 tempOn has no value'],
    ['tempOn: ""', '3:9 tempOn has no value'],
    ['tempOn: [48, 50]', '3:9 tempOn is a list or a group; it must be one value'],
    ['tempOn: {at: 48}', '3:9 tempOn is a list or a group; it must be one value'],
    ['tempOn: !!str 48 degC', '3:15 tempOn has a type tag (!); remove it'],
    ['tempOn: &a 48 degC', '3:12 tempOn has an anchor (&); references are not read, remove it'],
    ['tempOn: *a', '3:9 tempOn is a reference (*); references are not read, write the value out'],
  ])('%s is no plain value', (line, sentence) => {
    expect(sentences(`${HEAD}${line}\n`)).toEqual([`E-SETTINGS-03 ${sentence}`]);
  });
});

describe('names in a settings file', () => {
  it.each([
    ['tempon: 48 degC', 'tempon is no setting; did you mean tempOn?'],
    ['tempOnDc: 450', 'tempOnDc is no setting; did you mean tempOn?'],
    ['reserv: 0.5 L', 'reserv is no setting; did you mean reserve?'],
    ['threshold: 3', "threshold is no setting; 'smirr settings list' shows all names"],
    ['__proto__: 3', "__proto__ is no setting; 'smirr settings list' shows all names"],
    ['<<: 3', "<< is no setting; 'smirr settings list' shows all names"],
    ['3: 3', "3 is no setting; 'smirr settings list' shows all names"],
  ])('%s', (line, sentence) => {
    expect(sentences(`${HEAD}${line}\n`)).toEqual([`E-SETTINGS-04 3:1 ${sentence}`]);
  });

  it('refuses a setting that is given twice, with both lines', () => {
    expect(sentences(`${HEAD}tempOn: 48 degC\n\ntempOn: 50 degC\n`)).toEqual([
      'E-SETTINGS-05 5:1 tempOn is given twice, first in line 3',
    ]);
    expect(sentences(`${HEAD}version: 1\n`)).toEqual([
      'E-SETTINGS-05 3:1 version is given twice, first in line 2',
    ]);
  });

  it('tells every fault of a file at once', () => {
    const text = `${HEAD}tempOn: 48\nburst: 99 s\nrests: 3 s\n`;
    expect(sentences(text).map((each) => each.split(' ', 2).join(' '))).toEqual([
      'E-SETTINGS-06 3:9',
      'E-SETTINGS-07 4:8',
      'E-SETTINGS-04 5:1',
    ]);
  });
});

describe('relations in a settings file', () => {
  it('says which side was not given', () => {
    expect(sentences(`${HEAD}tempOn: 70 degC\n`)).toEqual([
      'E-SETTINGS-08 3:9 tempOn is 70.0 degC; it must be under tempHot, which is 65.0 degC: between the two the rest shortens from rest to restHot (tempHot not in the file: initial value)',
    ]);
  });

  it('points at the side that was given', () => {
    expect(sentences(`${HEAD}tempHot: 40 degC\n`)[0]).toMatch(
      /^E-SETTINGS-08 3:10 tempOn is 45.0/u,
    );
  });

  it('names neither when both are given', () => {
    const [sentence] = sentences(`${HEAD}tempHot: 50 degC\ntempOn: 55 degC\n`);
    expect(sentence).toMatch(/^E-SETTINGS-08 4:9 tempOn is 55.0 degC.*restHot$/u);
  });
});

describe('a file that is no settings file', () => {
  it.each([
    ['', "01 1:1 it is empty; a settings file begins with 'kind: smirr-settings'"],
    [' \n\n', "01 1:1 it is empty; a settings file begins with 'kind: smirr-settings'"],
    ['\uFEFF', "01 1:1 it is empty; a settings file begins with 'kind: smirr-settings'"],
    [
      '# only\n',
      "01 1:1 it holds only comments; a settings file begins with 'kind: smirr-settings'",
    ],
    [
      'time,rpm\n0,900\n',
      "01 1:1 this is no settings file: it begins with 'time,rpm', not 'kind: smirr-settings'",
    ],
    [
      '"a","b"\n1,2\n',
      `01 1:1 this is no settings file: it begins with '"a","b"', not 'kind: smirr-settings'`,
    ],
    [
      '- tempOn\n',
      "01 1:1 this is no settings file: it begins with '- tempOn', not 'kind: smirr-settings'",
    ],
    [
      'tempOn: 48 degC\n',
      "01 1:1 it does not say its kind; write 'kind: smirr-settings' as first line",
    ],
    [
      'kind: smirr-itinerary\nversion: 1\n',
      '01 1:7 this is of kind smirr-itinerary, not smirr-settings',
    ],
    ['kind:\nversion: 1\n', "01 1:6 this is of kind '', not smirr-settings"],
    ['kind: [a]\nversion: 1\n', "01 1:7 this is of kind '', not smirr-settings"],
    [
      'kind: smirr-settings\ntempOn: 48 degC\n',
      "02 1:1 it does not say its version; write 'version: 1' as second line",
    ],
    [
      'kind: smirr-settings\nversion: 2\nwhatever: [\n',
      '03 4:1 this is no readable YAML (Flow sequence in block collection must be sufficiently indented and end with a ])',
    ],
    [
      'kind: smirr-settings\nversion: 2\nunheardOf: 3 parsec\n',
      '02 2:10 the file is of version 2 and this smirr reads up to version 1; use a newer smirr',
    ],
    ['kind: smirr-settings\nversion: 0\n', '02 2:10 version is 0; the first version is 1'],
    [
      'kind: smirr-settings\nversion: 1.0\n',
      '02 2:10 version is 1.0; it must be a whole number such as 1',
    ],
    [
      'kind: smirr-settings\nversion: latest\n',
      '02 2:10 version is latest; it must be a whole number such as 1',
    ],
    [
      'kind: smirr-settings\nversion:\n',
      "02 2:9 version is ''; it must be a whole number such as 1",
    ],
  ])('%j', (text, sentence) => {
    expect(sentences(text)).toEqual([`E-SETTINGS-${sentence}`]);
  });

  it.each([
    ['tempOn 48 degC\n', "3:1 this is no readable YAML (a line must be 'name: value')"],
    ['\ttempOn: 48 degC\n', '3:1 this is no readable YAML (a line begins with a tab)'],
    [
      'tempOn: 48: degC\n',
      '3:9 this is no readable YAML (two values in one line, or a line further in than the one before)',
    ],
    ['tempOn: "48 degC\n', '4:1 this is no readable YAML (Missing closing "quote)'],
    ['---\nkind: b\n', '3:1 this is no readable YAML (it holds more than one document)'],
  ])('%j behind a good head', (text, sentence) => {
    expect(sentences(HEAD + text)).toEqual([`E-SETTINGS-03 ${sentence}`]);
  });

  it.each(['[', '{a: ', '- ', '? '])('nested too deeply with %j', (opening) => {
    const [sentence] = sentences(`${HEAD}a: ${opening.repeat(16_000)}`);
    expect(sentence).toMatch(/^E-SETTINGS-03 /u);
  });

  it('is refused without expanding its references', () => {
    const levels = Array.from(
      { length: 9 },
      (_, i) => `a${i + 1}: &a${i + 1} [${`*a${i},`.repeat(9)}]`,
    );
    const found = sentences(`${HEAD}a0: &a0 [1]\n${levels.join('\n')}\n`);
    expect(found).toHaveLength(10);
    expect(found[0]).toBe(
      "E-SETTINGS-04 3:1 a0 is no setting; 'smirr settings list' shows all names",
    );
  });
});

describe('whatever a file holds', () => {
  it('is read, or refused with a fault that has a place', () => {
    const piece = fc.oneof(
      fc.string({ maxLength: 20 }),
      fc.constantFrom(
        '\n',
        ': ',
        '- ',
        '[',
        '{',
        '&a ',
        '*a',
        '"',
        "'",
        '|\n ',
        '\t',
        '#',
        'tempOn',
      ),
    );
    fc.assert(
      fc.property(fc.array(piece, { maxLength: 30 }), fc.boolean(), (pieces, withHead) => {
        const text = (withHead ? HEAD : '') + pieces.join('');
        try {
          parseSettings(text, 'car.yaml');
        } catch (error) {
          expect(error).toBeInstanceOf(Fault);
          expect((error as Fault).row).toBeGreaterThan(0);
          expect((error as Fault).message).not.toMatch(/\n/u);
        }
      }),
    );
  });
});

describe('readSettings', () => {
  let folder: string;
  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), 'smirr-test-'));
  });
  afterAll(() => rm(folder, { recursive: true }));

  async function faultOfBytes(bytes: Uint8Array): Promise<string> {
    const path = join(folder, 'car.yaml');
    await writeFile(path, bytes);
    const error: unknown = await readSettings(path).then(
      () => 'accepted',
      (refused: unknown) => refused,
    );
    expect(error).toBeInstanceOf(Fault);
    return (error as Fault).message.replace(path, 'car.yaml');
  }

  it('gives the name without folders', async () => {
    const path = join(folder, 'our car.yaml');
    await writeFile(path, `${HEAD}tempOn: 48 degC\n`);
    const read = await readSettings(path);
    expect(read.name).toBe('our car.yaml');
    expect(read.settings.tempOnDc).toBe(480);
  });

  it('reads standard input as -', async () => {
    const input = Readable.from([Buffer.from(HEAD), Buffer.from('tempOn: 48 °C\n')]);
    const read = await readSettings('-', input);
    expect(read.name).toBe('standard input');
    expect(read.settings.tempOnDc).toBe(480);
  });

  it('refuses what is no text, with its place', async () => {
    expect(await faultOfBytes(Buffer.from('GIF89a\n\0\x01', 'latin1'))).toBe(
      'car.yaml, line 2, column 1: this is no settings file: it is binary, not text',
    );
    expect(await faultOfBytes(Buffer.from(`${HEAD}tempOn: 48 \xb0C\n`, 'latin1'))).toBe(
      'car.yaml, line 3, column 12: a character here is not UTF-8; save the file as UTF-8, or write degC for °C',
    );
    for (const utf16 of [
      [0xff, 0xfe, 0x6b, 0],
      [0xfe, 0xff, 0, 0x6b],
    ]) {
      expect(await faultOfBytes(Uint8Array.from(utf16))).toBe(
        'car.yaml, line 1, column 1: this is UTF-16 text; save it as UTF-8',
      );
    }
  });

  it('refuses a missing file, a folder and a file of 10 MB', async () => {
    await expect(readSettings(join(folder, 'no.yaml'))).rejects.toMatchObject({
      code: 'E-FILE-01',
      message: `${join(folder, 'no.yaml')} is not there: no such file`,
    });
    await expect(readSettings(folder)).rejects.toMatchObject({
      code: 'E-FILE-02',
      message: `${folder} is a folder, not a file`,
    });
    expect(await faultOfBytes(new Uint8Array(10_000_000))).toBe(
      'car.yaml is longer than 64 KB, the most this kind of file may be',
    );
    const endless = Readable.from(
      (function* () {
        for (;;) yield Buffer.alloc(10_000, 'a');
      })(),
    );
    await expect(readSettings('-', endless)).rejects.toMatchObject({
      code: 'E-FILE-03',
      message: 'standard input is longer than 64 KB, the most this kind of file may be',
    });
  });
});
