/**
 * The numbers of docs/control.md's tables of cutoffs and limits, written down a second time for the
 * properties: a core whose own table has been changed must not change what it is judged by. A test
 * compares the two. Units are in the names; a scaled copy serves the exhaustive search.
 */
import type { Limits } from '../../controller/limits.js';

/** What the properties need of the contract. */
export type Contract = Pick<
  Limits,
  | 'tickMs'
  | 'lateTickMs'
  | 'lateTickCount'
  | 'lateTickWindowMs'
  | 'switchMs'
  | 'rpmBandMax'
  | 'boostHpaMin'
  | 'boostHpaMax'
  | 'temperatureDcMin'
  | 'temperatureDcMax'
  | 'humidityPmMax'
  | 'speedDkmhMax'
  | 'levelUlMax'
  | 'supplyMvMax'
  | 'rpmLostHpa'
  | 'rpmLostMs'
  | 'sharedLateMs'
  | 'engineStoppedMs'
  | 'engineUnknownMs'
  | 'engineRunsMs'
  | 'sensorLostMs'
  | 'sensorBackMs'
  | 'lateInputBackMs'
  | 'freezingMs'
  | 'frostUnknownMs'
  | 'freezeReleaseDc'
  | 'frostSlotMs'
  | 'floorReleaseDc'
  | 'standstillDkmh'
  | 'standstillRpm'
  | 'standstillMs'
  | 'movedMs'
  | 'levelLowUl'
  | 'levelBackMs'
  | 'refillRiseUl'
  | 'refillRiseMs'
  | 'refillHoldMsMin'
  | 'refillHoldMsMax'
  | 'precoolAfterStartMs'
  | 'supplyMs'
  | 'supplyBackMs'
  | 'supplyReleaseMv'
  | 'supplyLatchCount'
  | 'supplyLatchWindowMs'
  | 'circuitBlankMs'
  | 'circuitMs'
  | 'buttonStuckMs'
  | 'buttonFreeMs'
  | 'disarmToClearMs'
  | 'resetArmOpenMs'
  | 'serviceMsMax'
  | 'serviceRestMs'
>;

/** As the contract has them. */
export const CONTRACT: Contract = {
  tickMs: 20,
  lateTickMs: 60,
  lateTickCount: 10,
  lateTickWindowMs: 10_000,
  switchMs: 40,
  rpmBandMax: 15_000,
  boostHpaMin: -1000,
  boostHpaMax: 5000,
  temperatureDcMin: -400,
  temperatureDcMax: 2000,
  humidityPmMax: 1000,
  speedDkmhMax: 5000,
  levelUlMax: 60_000_000,
  supplyMvMax: 40_000,
  rpmLostHpa: 500,
  rpmLostMs: 2000,
  sharedLateMs: 500,
  engineStoppedMs: 500,
  engineUnknownMs: 200,
  engineRunsMs: 1000,
  sensorLostMs: 200,
  sensorBackMs: 2000,
  lateInputBackMs: 1000,
  freezingMs: 1000,
  frostUnknownMs: 200,
  freezeReleaseDc: 10,
  frostSlotMs: 30_000,
  floorReleaseDc: 20,
  standstillDkmh: 50,
  standstillRpm: 1500,
  standstillMs: 3000,
  movedMs: 10_000,
  levelLowUl: 100_000,
  levelBackMs: 10_000,
  refillRiseUl: 500_000,
  refillRiseMs: 10_000,
  refillHoldMsMin: 3000,
  refillHoldMsMax: 8000,
  precoolAfterStartMs: 15_000,
  supplyMs: 200,
  supplyBackMs: 2000,
  supplyReleaseMv: 500,
  supplyLatchCount: 3,
  supplyLatchWindowMs: 60_000,
  circuitBlankMs: 100,
  circuitMs: 150,
  buttonStuckMs: 10_000,
  buttonFreeMs: 1000,
  disarmToClearMs: 2000,
  resetArmOpenMs: 1000,
  serviceMsMax: 10_000,
  serviceRestMs: 10_000,
};

/** Within this time the core has compared every compiled number with its copy, ms. */
export const RULE_ROUND_MS = 60_000;
