/**
 * The tick record: one CSV row a tick, the columns of docs/control.md in their order. Integers in
 * the core's units, flags 0 or 1, `health` and `cutoffs` as hexadecimal, `reason` and `lamp` as
 * words; what is not fitted is empty. A record reads back as a trace and replays to the same
 * decisions.
 */
import type { Core } from '../../controller/core.js';
import { Health, Input, INPUTS, type Readings } from '../../controller/readings.js';
import { REASONS } from '../../controller/reasons.js';
import { LAMPS } from '../../controller/tick/6-output.js';

export const TICK_COLUMNS = [
  'time_ms',
  'rpm',
  'boost_hpa',
  'charge_dc',
  'ambient_dc',
  'speed_dkmh',
  'supply_mv',
  'humidity_pm',
  'level',
  'feedback',
  'armed',
  'stage',
  'button',
  'health',
  'demand',
  'spray',
  'enable',
  'reason',
  'cutoffs',
  'duty_pm',
  'tank_ul',
  'stage_left_ms',
  'lamp',
] as const;

/** Pieces of about this length are handed on. */
const PIECE_CHARS = 1 << 16;

/**
 * The core's `health`, with "late" above any other fault of the same input: an old value that is low
 * or high shows that again when it is read back, but nothing else in a row says that it is old.
 */
function recordedHealth({ state, calibration }: Core): number {
  const late = state.health.lateBits & calibration.fitted;
  let word = state.health.word;
  if (late === 0) return word;
  for (let index = 0; index < INPUTS.length; index++) {
    if ((late & (1 << index)) === 0) continue;
    word = (word & ~(7 << (3 * index))) | (Health.Late << (3 * index));
  }
  return word;
}

/** Turns ticks into text and hands it on in pieces. */
export class TickWriter {
  private readonly write: (text: string) => void;
  private piece = `${TICK_COLUMNS.join(',')}\n`;

  constructor(write: (text: string) => void) {
    this.write = write;
  }

  /** Adds the row of the tick that the core has just made. */
  add(core: Core, readings: Readings, nowMs: number): void {
    const state = core.state;
    const fitted = core.calibration.fitted;
    const optional = (input: Input, value: number) => ((fitted & input) !== 0 ? value : '');
    // The window is counted conservatively, so that its share is rounded down, not up again.
    const dutyPm = Math.floor((state.account.windowMs * 1000) / core.settings.dutyWindowMs);
    this.piece +=
      `${nowMs},${readings.rpm},${readings.boostHpa},${readings.chargeDc},` +
      `${optional(Input.Ambient, readings.ambientDc)},${optional(Input.Speed, readings.speedDkmh)},` +
      `${optional(Input.Supply, readings.supplyMv)},${optional(Input.Humidity, readings.humidityPm)},` +
      `${optional(Input.Level, readings.level)},${optional(Input.Feedback, readings.feedback)},` +
      `${readings.arm},${readings.stage},${readings.button},0x${recordedHealth(core).toString(16)},` +
      `${state.demand.demand},${state.output.pump},${state.output.enable},` +
      `${REASONS[state.output.reason].id},0x${state.cutoffs.active.toString(16)},${dutyPm},` +
      `${state.account.tankUl},${state.burst.stageLeftMs},${LAMPS[state.output.lamp].id}\n`;
    if (this.piece.length < PIECE_CHARS) return;
    this.write(this.piece);
    this.piece = '';
  }

  /** Hands on what is left. */
  finish(): void {
    this.write(this.piece);
    this.piece = '';
  }
}
