/**
 * The table of limits: every value of LIMITS with its unit and what it bounds. Values and units come
 * from the code (the unit is in the name); the sentences stand here, and one that is missing does not
 * compile.
 */
import { LIMITS, type Limits } from '../../controller/limits.js';
import { markdownTable } from './render.js';

/** What each limit bounds. */
export const LIMIT_SENTENCES: Readonly<Record<keyof Limits, string>> = {
  tickMs: 'nominal distance of two ticks; a tick that sprays is charged with it',
  lateTickMs: 'a tick is late when more than this passed since the last one',
  countedMsMax: 'at most this much of the time since the last tick counts for rests and windows',
  lateTickCount: 'this many late ticks within the next value latch late-tick',
  lateTickWindowMs: 'the time in which they are counted',
  switchMs: 'debounce of arm switch, stage switch and button',
  sharedLateMs: 'age at which an input behind the shared multiplexer is late',
  rpmBandMax: 'highest engine speed that is believed, whatever rpmMax says',
  boostHpaMin: 'lowest boost that is believed',
  boostHpaMax: 'highest boost that is believed',
  temperatureDcMin: 'lowest temperature that is believed',
  temperatureDcMax: 'highest temperature that is believed',
  humidityPmMax: 'highest humidity that is believed',
  speedDkmhMax: 'highest vehicle speed that is believed',
  levelUlMax: 'highest gauge reading that is believed',
  supplyMvMax: 'highest supply voltage that is believed',
  rpmLostHpa: 'boost above this at 0 rpm means that the tach is lost',
  rpmLostMs: 'how long that must last',
  boostJumpHpa: 'a larger step of boost within 100 ms is a jump (codes only)',
  temperatureJumpDc: 'a larger step of a temperature within 100 ms is a jump (codes only)',
  frozenMs: 'a boost code that stands this long may be frozen (codes only)',
  frozenRpm: 'it is, if engine speed moved by more than this meanwhile',
  ambientHpaMin: 'lowest ambient pressure that is believed',
  ambientHpaMax: 'highest ambient pressure that is believed',
  standardHpa: 'ambient pressure while none is measured or stored',
  engineStoppedMs: 'debounce of engine-stopped: rpm under runRpm',
  engineUnknownMs: 'debounce of engine-stopped: rpm unhealthy',
  engineRunsMs: 'how long the engine must run for engine-stopped to let go',
  sensorLostMs: 'debounce of sensor-lost',
  sensorBackMs: 'how long boost and charge must be healthy for it to let go',
  lateInputBackMs: 'how long every needed input must be fresh for late-input to let go',
  freezingMs: 'debounce of freezing: too cold',
  frostUnknownMs: 'debounce of freezing: the sensor that guards is unhealthy',
  freezeReleaseDc: 'freezing lets go this far above freeze',
  frostSlotMs: 'length of one slot in which the lowest ambient is remembered',
  floorReleaseDc: 'too-cool lets go this far above floor',
  standstillDkmh: 'slower than this is slow',
  standstillRpm: 'without a speed input, an engine slower than this is slow',
  standstillMs: 'slow for this long is standstill',
  movedMs: 'moving for this long ends the limits of a standstill',
  precoolAfterStartMs: 'no pre-cooling for this long after the engine started',
  levelLowUl: 'a gauge at or under this is low',
  levelBackMs: 'how long the level must not be low for tank-empty to let go',
  levelApartUl: 'gauge and estimate further apart than this are an event',
  levelApartMs: 'how long they must be',
  refillRiseUl: 'a gauge this much higher is a refill',
  refillRiseMs: 'how long it must stand there',
  refillHoldMsMin: 'shortest press that tells a refill',
  refillHoldMsMax: 'longest press that tells a refill',
  supplyMs: 'debounce of supply',
  supplyBackMs: 'how long the supply must be inside for it to let go',
  supplyReleaseMv: 'how far inside',
  supplyLatchCount: 'this many supply cutoffs while spraying within the next value latch',
  supplyLatchWindowMs: 'the time in which they are counted',
  circuitBlankMs: 'after the outputs changed, feedback is not judged for this long',
  circuitMs: 'feedback that disagreed for this long in all latches pump-circuit',
  buttonStuckMs: 'a button closed for this long is stuck',
  buttonFreeMs: 'how long it must be open for button-stuck to let go',
  disarmToClearMs: 'how long disarming takes to clear a latch',
  resetArmOpenMs: 'how long the arm switch must be open to accept an unexpected reset',
  serviceMsMax: 'longest spray of service mode',
  serviceRestMs: 'rest after a spray of service mode',
  confirmMs:
    'how long the lamp is lit for its test at power-up, and for a refill that was understood',
};

/** Units by the suffix of a name, which a qualifier may follow. */
const UNITS: readonly (readonly [suffix: RegExp, unit: string, factor: number])[] = [
  [/Ms(Max|Min)?$/u, 'ms', 1],
  [/Hpa(Max|Min)?$/u, 'hPa', 1],
  [/Dc(Max|Min)?$/u, 'degC', 10],
  [/Dkmh(Max|Min)?$/u, 'km/h', 10],
  [/Pm(Max|Min)?$/u, 'permille', 1],
  [/Mv(Max|Min)?$/u, 'V', 1000],
  [/Ul(Max|Min)?$/u, 'L', 1_000_000],
  [/rpmBandMax$|Rpm(Max|Min)?$/u, '1/min', 1],
  [/Count$/u, '', 1],
];

/** A limit as people write it. Throws if its name does not end in a unit. */
export function limitText(name: keyof Limits): string {
  const found = UNITS.find(([suffix]) => suffix.test(name));
  if (found === undefined) throw new Error(`the limit ${name} names no unit`);
  const [, unit, factor] = found;
  return `${LIMITS[name] / factor} ${unit}`.trim();
}

/** Every limit, in the order of the table in the code. */
export function limitsTable(): string {
  const names = Object.keys(LIMITS) as (keyof Limits)[];
  return markdownTable(
    ['limit', 'value', 'what it bounds'],
    names.map((name) => [`\`${name}\``, limitText(name), LIMIT_SENTENCES[name]]),
  );
}
