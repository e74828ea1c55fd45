/**
 * Settings written out and read back, the schema and the tables: all made from THE table, so a new
 * setting is covered as soon as it is in it. The schema is judged by ajv, an independent
 * implementation of JSON Schema draft 2020-12.
 */
import { Ajv2020 } from 'ajv/dist/2020.js';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import { initialSettings } from '../../../controller/settings-check.js';
import { SETTINGS } from '../../../controller/settings.js';
import {
  formatRange,
  formatSettings,
  formatValue,
  settingRow,
  settingsTableMarkdown,
  settingsTableText,
} from '../../../host-sim/settings/format.js';
import { parseSettings } from '../../../host-sim/settings/parse.js';
import { settingsSchema } from '../../../host-sim/settings/schema.js';
import { UNITS } from '../../../host-sim/settings/units.js';
import { settingsArbitrary } from '../../arbitrary.js';

const validate = new Ajv2020({ allErrors: true, strict: true }).compile(settingsSchema());
const HEAD = 'kind: smirr-settings\nversion: 1\n';

describe('formatSettings', () => {
  it('is read back as the same settings', () => {
    fc.assert(
      fc.property(settingsArbitrary(), (settings) => {
        const read = parseSettings(formatSettings(settings), 'car.yaml');
        expect(read.settings).toEqual(settings);
        expect(read.filled).toEqual([]);
      }),
    );
  });

  it('begins with kind and version and explains every setting', () => {
    const text = formatSettings(initialSettings());
    expect(text.startsWith(HEAD)).toBe(true);
    expect(text).toContain(
      [
        '# charge temperature at which automatic mist is wanted',
        '# 10.0 degC to 90.0 degC, initially 45.0 degC; below 10 degC mist wins nothing and may freeze;',
        '# above 90 degC it would come too late',
        'tempOn: 45.0 degC',
      ].join('\n'),
    );
    for (const row of SETTINGS) expect(text).toContain(`\n${row.name}: `);
    for (const line of text.split('\n')) expect(line.length).toBeLessThanOrEqual(100);
  });
});

describe('formatValue and formatRange', () => {
  it('shows values with their unit', () => {
    expect(formatValue(settingRow('tempOn'), 450)).toBe('45.0 degC');
    expect(formatValue({ name: 'reserve' }, 500_000)).toBe('0.5 L');
    expect(formatRange(settingRow('burst'))).toBe('0.3 s to 10 s');
    expect(formatRange(settingRow('precool'))).toBe('off or on');
  });
});

describe('the schema', () => {
  it('accepts every file that formatSettings writes', () => {
    fc.assert(
      fc.property(settingsArbitrary(), (settings) => {
        expect(validate(parse(formatSettings(settings)))).toBe(true);
      }),
    );
  });

  it('accepts every unit that is read, with and without a space', () => {
    for (const row of SETTINGS) {
      if (row.quantity === 'choice') continue;
      for (const { symbol } of UNITS[row.quantity].units) {
        for (const text of [`1.5 ${symbol}`, `-.5${symbol}`]) {
          const file = { kind: 'smirr-settings', version: 1, [row.name]: text };
          expect(validate(file), `${row.name}: ${text}`).toBe(true);
        }
      }
    }
  });

  it.each([
    'tempOn: 48 degC\nrpmOn: 2500\nprecool: on',
    'duty: 40%\nsupplyLow: 9500 mV',
    'rpmOn: 2500 1/min',
    '',
  ])('accepts, as the reader does: %j', (lines) => {
    expect(validate(parse(HEAD + lines))).toBe(true);
    expect(() => parseSettings(HEAD + lines, 'car.yaml')).not.toThrow();
  });

  it.each([
    'tempOn: 48',
    'tempOn: 48 V',
    'tempOn: 48 degc',
    'tempon: 48 degC',
    'burst: 0,5 s',
    'burst: 1e3 ms',
    'burst: [3 s]',
    'burst:',
    'rpmOn: 100',
    'rpmOn: fast',
    'precool: true',
    'precool: yes',
    'flow: 4 ml x s',
  ])('refuses, as the reader does: %s', (line) => {
    expect(validate(parse(HEAD + line))).toBe(false);
    expect(() => parseSettings(`${HEAD}${line}\n`, 'car.yaml')).toThrow();
  });

  it.each([
    'version: 1',
    'kind: smirr-settings',
    'kind: smirr-plan\nversion: 1',
    `${HEAD.slice(0, -2)}2`,
  ])('refuses a wrong head: %j', (head) => {
    expect(validate(parse(head))).toBe(false);
    expect(() => parseSettings(head, 'car.yaml')).toThrow();
  });

  it('describes every setting, with its initial value as default', () => {
    const { properties } = settingsSchema() as {
      properties: Record<string, Record<string, string>>;
    };
    for (const row of SETTINGS) {
      expect(properties[row.name]['description']).toContain(row.why);
      expect(properties[row.name]['default']).toBe(formatValue(row, row.initial));
    }
  });
});

describe('the tables', () => {
  it('has one line a setting in the text for the terminal', () => {
    const lines = settingsTableText().trimEnd().split('\n');
    expect(lines).toHaveLength(SETTINGS.length + 1);
    expect(lines[1]).toMatch(/^tempOn +45\.0 degC +10\.0 degC to 90\.0 degC +charge temperature/u);
  });

  it('has every setting and every relation in the table for the documentation', () => {
    const text = settingsTableMarkdown();
    for (const row of SETTINGS) expect(text).toContain(`| \`${row.name}\` |`);
    expect(text).toContain('| `tempOn < tempHot` |');
    expect(text).toContain('| `burst <= maxBurst` |');
    expect(text).toContain('| `burst / (burst + restHot) <= duty` |');
    for (const line of text.split('\n').slice(0, SETTINGS.length + 2)) {
      expect(line.split(' | ')).toHaveLength(5);
    }
  });
});
