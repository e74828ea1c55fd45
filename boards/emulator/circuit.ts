/**
 * The pump's circuit around the board: supply, arm contact, high side (`enable`), pump, low side
 * (`pump`). It takes what the outputs come to and gives the voltage of the feedback input at the low
 * side, and whether the pump really runs. With faults: an open circuit, and a low side that is shorted.
 */
import type { Analogue } from './adc.js';
import type { Pins } from './pins.js';

export type CircuitFault = 'none' | 'open' | 'low-side-shorted' | 'high-side-shorted';

/** At the chip's pin, after the divider: the pump's low side at supply, and at ground. */
const HIGH_VOLTS = 2.5;
const LOW_VOLTS = 0.1;

export class Circuit {
  fault: CircuitFault = 'none';
  /** False leaves the feedback voltage to whoever sets it. */
  isDriving = true;

  constructor(
    private readonly pins: Pins,
    private readonly analogue: Analogue,
  ) {
    pins.onOutput = () => this.settle();
  }

  /** Whether the pump is under power. */
  get isPumping(): boolean {
    const { fault, pins } = this;
    if (fault === 'open') return false;
    const high = pins.isEnableClosed || fault === 'high-side-shorted';
    const low = pins.levels['pump'] === 1 || fault === 'low-side-shorted';
    return high && low;
  }

  /** Sets the feedback voltage: high where supply reaches the low side and nothing pulls it down. */
  settle(): void {
    if (!this.isDriving) return;
    const { fault, pins } = this;
    const high = (pins.isEnableClosed || fault === 'high-side-shorted') && fault !== 'open';
    const low = pins.levels['pump'] === 1 || fault === 'low-side-shorted';
    this.analogue.volts['feedback'] = high && !low ? HIGH_VOLTS : LOW_VOLTS;
  }
}
