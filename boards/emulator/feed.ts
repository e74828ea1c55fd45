/**
 * Codes -> what is on the pins: it takes the codes that a board's core should come to see (one record
 * every 20 ms) and sets voltages, pulse periods and switches accordingly. The board's filter, steps
 * and sampling order lie between, so what the core really sees follows with a delay and within a step.
 */
import type { Codes } from '../../controller/tick/1-calibrate.js';
import type { Board } from './board.js';

/** How codes stand on the pins where the code alone does not say it. */
export interface FeedOptions {
  /** A level switch is open or closed to ground; a gauge has a voltage. */
  readonly levelIsSwitch: boolean;
  /** True takes the feedback from the codes; false lets the pump's circuit make it. */
  readonly feedbackFromCodes: boolean;
}

/** Pulses older than this are none: the input is silent. */
const SILENT_MS = 600;

/** Sets everything that the codes say. */
export function feedCodes(board: Board, codes: Codes, options: FeedOptions): void {
  const { analogue, pins } = board;
  analogue.setCode('boost', codes.boostCode);
  analogue.setCode('rail', codes.railCode);
  analogue.setCode('charge', codes.chargeCode);
  analogue.setCode('ambient', codes.ambientCode);
  analogue.setCode('humidity', codes.humidityCode);
  analogue.setCode('supply', codes.supplyCode);
  if (!options.levelIsSwitch) analogue.setCode('level', codes.levelCode);
  else analogue.setCode('level', codes.levelCode === 1 ? 0 : 65535);
  board.circuit.isDriving = !options.feedbackFromCodes;
  if (options.feedbackFromCodes) analogue.setCode('feedback', codes.feedback === 1 ? 50000 : 0);
  else board.circuit.settle();
  board.tach.setPeriod(codes.pulseAgeMs < SILENT_MS ? codes.periodsUs[0] : 0);
  board.speed.setPeriod(codes.speedAgeMs < 2000 ? codes.speedPeriodUs : 0);
  pins.setSwitch('arm', codes.arm === 1);
  pins.setSwitch('stage', codes.stage === 1);
  pins.setSwitch('button', codes.button === 1);
}
