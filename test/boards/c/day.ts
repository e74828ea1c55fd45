/**
 * An invented day as codes of a board, tick by tick: a stage of nine minutes after each minute in service, where
 * the engine stands still, the arm switch is open, and now and then a refill is told. Speed and boost rise and
 * fall, values are held by steps as a board holds them, channels of the analogue switch take turns.
 */
import type { Calibration } from '../../../controller/calibration.js';
import type { Core } from '../../../controller/core.js';
import { Input, makeReadings } from '../../../controller/readings.js';
import { makeCodesRecord, type Codes } from '../../../controller/tick/1-calibrate.js';
import { codesFor } from '../../../boards/emulator/inverse.js';
import { Random } from '../../../boards/emulator/random.js';

const TICK_MS = 20;
const SERVICE_TICKS = 3000;
const CYCLE_TICKS = 30_000;
/** While what part of the service the button is held: a refill. */
const PRESS = [600, 850] as const;
const STEP = 24;
/** What is fresh in each of the eight turns of the analogue switch, beside engine speed, boost and charge. */
const ALWAYS = Input.Rpm | Input.Boost | Input.Charge;
const TURNS = [
  0,
  Input.Feedback,
  Input.Ambient,
  Input.Feedback,
  Input.Supply,
  Input.Feedback,
  Input.Level,
  Input.Feedback,
];
const HELD = ['boostCode', 'chargeCode', 'ambientCode', 'supplyCode', 'railCode'] as const;

export class Day {
  private readonly random: Random;
  private readonly readings = makeReadings();
  private readonly wanted = makeCodesRecord();
  private readonly codes = makeCodesRecord();
  private readonly isNoisy: boolean;
  private tick = 0;

  constructor(
    private readonly calibration: Calibration,
    seed: number,
    { isNoisy = false } = {},
  ) {
    this.random = new Random(seed);
    this.isNoisy = isNoisy;
  }

  /** The next tick of the day, with the feedback that the core's last outputs make. */
  next(core: Core): Codes {
    const at = this.tick % CYCLE_TICKS;
    const isService = at < SERVICE_TICKS;
    const { output } = core.state;
    this.fill(isService, at);
    this.readings.button = Number(isService && at >= PRESS[0] && at < PRESS[1]);
    this.readings.feedback = this.calibration.feedbackExpected[output.enable | (output.pump << 1)];
    return this.sample();
  }

  /** A tick on a stage, armed. */
  armed(): Codes {
    this.fill(false, SERVICE_TICKS + this.tick);
    return this.sample();
  }

  /** A tick in service: disarmed, engine still. */
  disarmed(): Codes {
    this.fill(true, 0);
    return this.sample();
  }

  private fill(isService: boolean, at: number): void {
    const { readings, random } = this;
    const wave = Math.sin(at / 170) + 0.4 * Math.sin(at / 41);
    readings.arm = Number(!isService);
    readings.stage = 1;
    readings.rpm = isService ? 0 : Math.round(4600 + 1700 * wave + 20 * random.normal());
    readings.boostHpa = isService ? 0 : Math.round(700 + 600 * wave + 5 * random.normal());
    readings.chargeDc = Math.round(isService ? 350 : 480 + 90 * Math.sin(at / 900));
    readings.ambientDc = 240;
    readings.supplyMv = isService ? 12600 : 13800;
    readings.level = 1;
  }

  private sample(): Codes {
    const { codes, wanted, random } = this;
    codesFor(this.calibration, this.readings, 1013, wanted);
    for (const name of HELD) {
      const value = this.isNoisy ? wanted[name] + random.below(4000) : wanted[name];
      if (Math.abs(value - codes[name]) >= STEP) codes[name] = value;
    }
    wanted.periodsUs.forEach((period, at) => {
      if ((at + this.tick) % 2 === 0) codes.periodsUs[at] = period;
    });
    codes.pulseAgeMs = this.readings.rpm > 0 ? 0 : Math.min(codes.pulseAgeMs + TICK_MS, 0x3fffffff);
    codes.levelCode = wanted.levelCode;
    codes.feedback = this.readings.feedback;
    codes.arm = this.readings.arm;
    codes.stage = this.readings.stage;
    codes.button = this.readings.button;
    codes.fresh = (ALWAYS | TURNS[this.tick % TURNS.length]) & this.calibration.fitted;
    this.tick++;
    codes.nowMs = (this.tick * TICK_MS) & 0x3fffffff;
    return codes;
  }
}
