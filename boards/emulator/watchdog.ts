/**
 * The hardware watchdog as silicon has it: it counts only once the tick generator runs, and when it
 * bites, the chip is reset once and everything but SRAM, flash, the reason and the scratch registers
 * begins anew (datasheet 4.7). In the emulator it only calls back, again and again, and its own
 * reset erases flash.
 */
import type { Complain } from './fault.js';
import type { Parts } from './parts.js';

/** PSM WDSEL: all but ROSC (bit 0) and XOSC (bit 1), datasheet 2.13.5. */
const EVERYTHING_BUT_OSCILLATORS = 0x1fffc;

export class Watchdog {
  /** True once it has bitten, until the run loop has reset the chip. */
  hasBitten = false;
  /** How often the chip was reset by it, and when the last time. */
  bites = 0;
  lastNanos = 0;

  constructor(
    private readonly parts: Parts,
    private readonly readSelection: () => number,
    private readonly now: () => number,
    private readonly interrupt: () => void,
    private readonly complain: Complain,
  ) {
    parts.watchdog.onWatchdogTrigger = () => this.bite();
  }

  private bite(): void {
    const part = this.parts.watchdog;
    // Its alarm would ring again at once.
    part.timer.enable = false;
    part.alarm.enable = false;
    part.enable = false;
    const selection = this.readSelection();
    if ((selection & EVERYTHING_BUT_OSCILLATORS) !== EVERYTHING_BUT_OSCILLATORS) {
      this.complain(`the watchdog resets only 0x${selection.toString(16)} (PSM WDSEL)`);
    }
    this.hasBitten = true;
    this.bites++;
    this.lastNanos = this.now();
    this.interrupt();
  }

  /** What survives: REASON and the scratch registers. Call around the restore of the reset state. */
  keepOver(reset: () => void): void {
    const part = this.parts.watchdog;
    const reason = part.reason;
    const scratch = part.scratchData.slice();
    reset();
    part.reason = reason;
    part.scratchData.set(scratch);
    this.hasBitten = false;
  }
}
