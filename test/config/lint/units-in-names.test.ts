/**
 * What units-in-names accepts and refuses, and that every reading and setting goes by it.
 */
import { expect, test } from 'vitest';
import { carriesUnit, unitsInNames } from '../../../.config/lint/units-in-names.js';
import { makeReadings } from '../../../controller/readings.js';
import { SETTINGS } from '../../../controller/settings.js';
import { tryRule } from './rule-tester.js';

const FILE = 'controller/core.ts';

tryRule('units-in-names', unitsInNames, {
  valid: [
    [
      FILE,
      'export interface State { burstMsMax: number; tankUl: number; readonly ringMs: number[] }',
    ],
    [FILE, 'export interface State { burst: Burst; rest: string; spray: number; rpm: number }'],
    [FILE, 'export interface State { slopeDcQ16: number; pulsesPerHectometre: number }'],
    [FILE, 'export function meet(boostCode: number, burstCount: number, bits: number): void {}'],
    [FILE, 'export interface State { hasSpeed: number; boostMet: number; flowValid: number }'],
    [FILE, 'export interface Codes { boost: number; supply: number }'],
    [FILE, 'const STANDSTILL_MS = 3000; const WINDOW_SLOTS = 30; const MODES = 3;'],
    // A local is as near to its unit as the line that makes it.
    [FILE, 'function f(n: number) { const rest = n * 2; return rest; }'],
  ],
  invalid: [
    [FILE, 'interface Own { burst: number } function f(rest: number) {}', 'unit', 'unit'],
    [FILE, 'interface Own { burst: number | undefined; tank: Array<number> }', 'unit', 'unit'],
    [FILE, 'const STANDSTILL_TIME = 3000;', 'unit'],
    [FILE, 'export const restLongest: number = 9000;', 'unit'],
    [FILE, 'export interface State { burst: number }', 'unit'],
    [FILE, 'export interface State { readonly restTime: number }', 'unit'],
    [FILE, 'export interface State { tank: number[] }', 'unit'],
    [FILE, 'export interface Slopes { restSlope: number; supplyTrips: number }', 'unit', 'unit'],
    [FILE, 'export type State = { chargeTemperature: number };', 'unit'],
    [FILE, 'export function meet(pressure: number): void {}', 'unit'],
    [FILE, 'export function meet(window = 3, holdMax: number): void {}', 'unit'],
    [FILE, 'export const meet = (speed: number) => speed;', 'unit'],
  ],
});

test('units-in-names: every reading and every setting goes by its rule', () => {
  const names = [...Object.keys(makeReadings()), ...SETTINGS.map((row) => row.field)];
  expect(names.filter((name) => !carriesUnit(name))).toEqual([]);
});
