/**
 * Upgrading settings files: what a user wrote stays as it is, what is missing is added with its
 * comment, and steps between versions are walked in order (with steps made for the test, as version
 * 1 is the first).
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { isScalar } from 'yaml';
import { SETTINGS } from '../../../controller/settings.js';
import { formatSettings, formatValue } from '../../../host-sim/settings/format.js';
import { parseSettings } from '../../../host-sim/settings/parse.js';
import type { UpgradeStep } from '../../../host-sim/settings/parse.js';
import { upgradeSettings } from '../../../host-sim/settings/upgrade.js';
import { settingsArbitrary } from '../../arbitrary.js';

const OURS = `# our car, wet tyres
kind:   smirr-settings   # ours

version: 1
rpmOn: 3000
tempOn:    48 degC      # lower since Tuesday
# nothing below this line`;

describe('upgradeSettings', () => {
  it('adds what is missing behind the very bytes of the user', () => {
    const upgraded = upgradeSettings(OURS, 'car.yaml');
    expect(upgraded.text.startsWith(`${OURS}\n\n# how far the charge`)).toBe(true);
    expect(upgraded).toMatchObject({ changed: true, fromVersion: 1 });
    expect(upgraded.added).toHaveLength(SETTINGS.length - 2);
    const read = parseSettings(upgraded.text, 'car.yaml');
    expect(read.settings).toEqual(parseSettings(OURS, 'car.yaml').settings);
    expect(read.filled).toEqual([]);
  });

  it('leaves a complete file as it is, byte for byte', () => {
    const once = upgradeSettings(OURS, 'car.yaml').text;
    expect(upgradeSettings(once, 'car.yaml')).toMatchObject({
      text: once,
      changed: false,
      added: [],
    });
  });

  it('keeps CRLF and indentation', () => {
    const text = '  kind: smirr-settings\r\n  version: 1\r\n  tempOn: 48 degC\r\n';
    const upgraded = upgradeSettings(text, 'car.yaml').text;
    expect(upgraded.startsWith(text)).toBe(true);
    expect(upgraded.replaceAll('\r\n', '')).not.toContain('\n');
    expect(upgraded).toContain('\r\n  tempHot: 65.0 degC\r\n');
  });

  it('keeps JSON as JSON', () => {
    const text = '{"kind": "smirr-settings", "version": 1, "tempOn": "48 degC"}';
    const upgraded = JSON.parse(upgradeSettings(text, 'car.json').text) as Record<string, unknown>;
    expect(upgraded).toMatchObject({ kind: 'smirr-settings', version: 1, tempOn: '48 degC' });
    expect(Object.keys(upgraded)).toHaveLength(SETTINGS.length + 2);
  });

  it.each([
    ['braces without quotes', '{kind: smirr-settings, version: 1, tempOn: 48 degC}\n'],
    ['an end mark', 'kind: smirr-settings\nversion: 1\ntempOn: 48 degC # mine\n...\n'],
    ['a start mark', '# top\n---\nkind: smirr-settings\nversion: 1\ntempOn: 48 degC # mine\n'],
  ])('completes a file with %s', (_what, text) => {
    const upgraded = upgradeSettings(text, 'car.yaml').text;
    const read = parseSettings(upgraded, 'car.yaml');
    expect(read.filled).toEqual([]);
    expect(read.settings.tempOnDc).toBe(480);
    if (text.includes('# mine')) expect(upgraded).toContain('tempOn: 48 degC # mine');
  });

  it('keeps settings and comments of any file', () => {
    const subset = fc.subarray(SETTINGS.map((row) => row.name));
    const comment = fc.stringMatching(/^[ -~]{0,20}$/u);
    fc.assert(
      fc.property(settingsArbitrary(), subset, comment, (settings, names, words) => {
        const lines = SETTINGS.filter((row) => names.includes(row.name)).map(
          (row) => `${row.name}: ${formatValue(row, settings[row.field])} # ${words}`,
        );
        const text = `kind: smirr-settings\nversion: 1\n${lines.join('\n')}\n`;
        let before;
        try {
          before = parseSettings(text, 'car.yaml');
        } catch {
          return; // What is given may contradict the initial values of what is not.
        }
        const upgraded = upgradeSettings(text, 'car.yaml');
        expect(upgraded.text.startsWith(text)).toBe(true);
        expect(parseSettings(upgraded.text, 'car.yaml').settings).toEqual(before.settings);
      }),
    );
  });

  it('does not upgrade a file that is refused', () => {
    expect(() =>
      upgradeSettings('kind: smirr-settings\nversion: 1\ntempOn: 48\n', 'car.yaml'),
    ).toThrow('tempOn is 48; its unit is missing');
  });
});

describe('upgrade steps', () => {
  function renaming(from: number, oldName: string, newName: string): UpgradeStep {
    return {
      from,
      change: (document) => {
        const { contents } = document;
        if (contents === null || !('items' in contents)) return;
        for (const pair of contents.items) {
          if (!('key' in pair) || !isScalar(pair.key)) continue;
          if (pair.key.value === oldName) pair.key.value = newName;
        }
      },
    };
  }
  const steps = [renaming(-1, 'warm', 'warmth'), renaming(0, 'warmth', 'tempOn')];

  it('are walked from the version of the file to the current one, comments and all', () => {
    const text = `# mine\nkind: smirr-settings\nversion: 0\nwarmth: 48 degC # lower\n`;
    const upgraded = upgradeSettings(text, 'car.yaml', steps);
    expect(upgraded).toMatchObject({ changed: true, fromVersion: 0 });
    expect(upgraded.text).toMatch(
      /^# mine\nkind: smirr-settings\nversion: 1\ntempOn: 48 degC # lower\n/u,
    );
    expect(parseSettings(upgraded.text, 'car.yaml')).toMatchObject({ filled: [] });
  });

  it('upgrade a complete older file too', () => {
    const current = formatSettings(parseSettings(OURS, 'car.yaml').settings);
    const old = current.replace('version: 1', 'version: 0').replace('tempOn:', 'warmth:');
    expect(upgradeSettings(old, 'car.yaml', steps)).toMatchObject({ changed: true, added: [] });
  });
});
