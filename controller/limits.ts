/**
 * LIMITS: every debounce, let-go time and bound that the user may not choose, in one frozen table.
 * `create` takes it as an argument: a device's bundle passes this table and nothing else; a search
 * for counterexamples may pass a scaled one. `tick` is the same code. Units are in the names.
 */
export interface Limits {
  /** Nominal distance of two ticks; a tick that sprays is charged with it in its own row. */
  readonly tickMs: number;
  /** A tick is late when more than this has passed since the last one. */
  readonly lateTickMs: number;
  /** At most this much of the time since the last tick counts for rests, windows and let-gos. */
  readonly countedMsMax: number;
  /** This many late ticks within the window latch. */
  readonly lateTickCount: number;
  readonly lateTickWindowMs: number;
  /** Debounce of the arm switch, the stage switch and the button. */
  readonly switchMs: number;
  /** Age at which an input that shares the board's multiplexer is late. */
  readonly sharedLateMs: number;

  /** Bands in engineering units, outside which a reading is low or high. */
  readonly rpmBandMax: number;
  readonly boostHpaMin: number;
  readonly boostHpaMax: number;
  readonly temperatureDcMin: number;
  readonly temperatureDcMax: number;
  readonly humidityPmMax: number;
  readonly speedDkmhMax: number;
  readonly levelUlMax: number;
  readonly supplyMvMax: number;
  /** Boost above this at 0 rpm for `rpmLostMs`: the tach is lost. */
  readonly rpmLostHpa: number;
  readonly rpmLostMs: number;
  /** Steps over this within 100 ms are jumps (judged on codes only). */
  readonly boostJumpHpa: number;
  readonly temperatureJumpDc: number;
  /** Boost code identical for this long while engine speed moved by that much: frozen. */
  readonly frozenMs: number;
  readonly frozenRpm: number;
  /** Ambient pressure is believed inside these bounds; `standardHpa` stands in for it. */
  readonly ambientHpaMin: number;
  readonly ambientHpaMax: number;
  readonly standardHpa: number;

  readonly engineStoppedMs: number;
  readonly engineUnknownMs: number;
  readonly engineRunsMs: number;
  readonly sensorLostMs: number;
  readonly sensorBackMs: number;
  readonly lateInputBackMs: number;
  readonly freezingMs: number;
  readonly frostUnknownMs: number;
  /** Freezing lets go this far above `freeze`; the lowest ambient is remembered for 20 slots. */
  readonly freezeReleaseDc: number;
  readonly frostSlotMs: number;
  readonly floorReleaseDc: number;

  /** Standstill: slower than this (without a speed input: under `standstillRpm`) for that long. */
  readonly standstillDkmh: number;
  readonly standstillRpm: number;
  readonly standstillMs: number;
  readonly movedMs: number;
  readonly precoolAfterStartMs: number;

  readonly levelLowUl: number;
  readonly levelBackMs: number;
  readonly levelApartUl: number;
  readonly levelApartMs: number;
  readonly refillRiseUl: number;
  readonly refillRiseMs: number;
  readonly refillHoldMsMin: number;
  readonly refillHoldMsMax: number;

  readonly supplyMs: number;
  readonly supplyBackMs: number;
  readonly supplyReleaseMv: number;
  readonly supplyLatchCount: number;
  readonly supplyLatchWindowMs: number;

  readonly circuitBlankMs: number;
  readonly circuitMs: number;
  readonly buttonStuckMs: number;
  readonly buttonFreeMs: number;
  readonly disarmToClearMs: number;
  readonly resetArmOpenMs: number;

  readonly serviceMsMax: number;
  readonly serviceRestMs: number;
  /** The lamp is lit this long for its test at power-up, and for a refill that was understood. */
  readonly confirmMs: number;
}

/** The shipped limits. */
export const LIMITS: Limits = Object.freeze({
  tickMs: 20,
  lateTickMs: 60,
  countedMsMax: 100,
  lateTickCount: 10,
  lateTickWindowMs: 10000,
  switchMs: 40,
  sharedLateMs: 500,

  rpmBandMax: 15000,
  boostHpaMin: -1000,
  boostHpaMax: 5000,
  temperatureDcMin: -400,
  temperatureDcMax: 2000,
  humidityPmMax: 1000,
  speedDkmhMax: 5000,
  levelUlMax: 60000000,
  supplyMvMax: 40000,
  rpmLostHpa: 500,
  rpmLostMs: 2000,
  boostJumpHpa: 2000,
  temperatureJumpDc: 200,
  frozenMs: 60000,
  frozenRpm: 1000,
  ambientHpaMin: 550,
  ambientHpaMax: 1080,
  standardHpa: 1013,

  engineStoppedMs: 500,
  engineUnknownMs: 200,
  engineRunsMs: 1000,
  sensorLostMs: 200,
  sensorBackMs: 2000,
  lateInputBackMs: 1000,
  freezingMs: 1000,
  frostUnknownMs: 200,
  freezeReleaseDc: 10,
  frostSlotMs: 30000,
  floorReleaseDc: 20,

  standstillDkmh: 50,
  standstillRpm: 1500,
  standstillMs: 3000,
  movedMs: 10000,
  precoolAfterStartMs: 15000,

  levelLowUl: 100000,
  levelBackMs: 10000,
  levelApartUl: 500000,
  levelApartMs: 10000,
  refillRiseUl: 500000,
  refillRiseMs: 10000,
  refillHoldMsMin: 3000,
  refillHoldMsMax: 8000,

  supplyMs: 200,
  supplyBackMs: 2000,
  supplyReleaseMv: 500,
  supplyLatchCount: 3,
  supplyLatchWindowMs: 60000,

  circuitBlankMs: 100,
  circuitMs: 150,
  buttonStuckMs: 10000,
  buttonFreeMs: 1000,
  disarmToClearMs: 2000,
  resetArmOpenMs: 1000,

  serviceMsMax: 10000,
  serviceRestMs: 10000,
  confirmMs: 1000,
});
