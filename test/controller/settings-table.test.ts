/** The bounds and initial values of THE table, written a second time by hand, in the core's units. */
import { expect, it } from 'vitest';
import { SETTINGS } from '../../controller/settings.js';

const TABLE: readonly (readonly [name: string, initial: number, min: number, max: number])[] = [
  ['tempOn', 450, 100, 900],
  ['tempHysteresis', 30, 5, 150],
  ['tempHot', 650, 200, 1200],
  ['rpmOn', 2500, 500, 12000],
  ['rpmHysteresis', 300, 50, 2000],
  ['boostOn', 300, 0, 4000],
  ['boostHysteresis', 100, 20, 1000],
  ['demandHold', 1000, 0, 3000],
  ['burst', 3000, 300, 10000],
  ['rest', 9000, 1000, 120000],
  ['restHot', 4500, 500, 120000],
  ['manual', 4000, 500, 10000],
  ['minSpray', 300, 100, 2000],
  ['minRest', 1000, 500, 30000],
  ['precool', 0, 0, 1],
  ['precoolOn', 500, 200, 1200],
  ['lookAhead', 0, 0, 10000],
  ['stageTime', 0, 0, 7200000],
  ['minDepression', 0, 0, 150],
  ['tank', 3000000, 200000, 50000000],
  ['reserve', 500000, 100000, 20000000],
  ['flow', 4000, 200, 50000],
  ['runRpm', 500, 300, 1000],
  ['lateAfter', 200, 100, 500],
  ['freeze', 40, 30, 200],
  ['floor', 250, 0, 600],
  ['maxBurst', 5000, 300, 10000],
  ['dutyWindow', 60000, 30000, 120000],
  ['duty', 400, 10, 600],
  ['standstillDuty', 100, 0, 400],
  ['standstillMax', 20000, 0, 120000],
  ['supplyLow', 9500, 9000, 11000],
  ['supplyHigh', 16000, 15000, 16500],
  ['levelAfter', 5000, 2000, 10000],
  ['frostSensor', 0, 0, 1],
  ['manualFromReserve', 1, 0, 1],
  ['automaticAllowed', 1, 0, 1],
  ['manualAllowed', 1, 0, 1],
  ['rpmMax', 12000, 3000, 20000],
];

it('every setting has the bounds and the initial value that were agreed', () => {
  expect(SETTINGS.map(({ name, initial, min, max }) => [name, initial, min, max])).toEqual(TABLE);
});
