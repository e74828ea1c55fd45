/**
 * Pulses on an input pin: engine speed, or vehicle speed. It takes the period between pulses and
 * raises the pin once in each, at its time to the nanosecond; a new period begins at the last edge.
 * A bouncing contact adds short pulses after each edge.
 */
import type { BoardAlarm, BoardClock } from './clock.js';
import type { Pins } from './pins.js';

/** The pin is high for this part of a period. */
const HIGH_SHARE = 0.3;
const BOUNCE_NANOS = 20e3;

export class PulseSource {
  /** Pulses so far; a bounce is none. */
  pulses = 0;
  /** Extra pulses after each edge, 20 us apart. */
  bounces = 0;
  private periodNanos = 0;
  private lastNanos = -Infinity;
  private toggles = 0;
  private readonly riseAlarm: BoardAlarm;
  private readonly fallAlarm: BoardAlarm;

  constructor(
    private readonly clock: BoardClock,
    private readonly pins: Pins,
    private readonly name: string,
  ) {
    this.riseAlarm = clock.createAlarm(() => this.rise());
    this.fallAlarm = clock.createAlarm(() => this.fall());
  }

  get worldAlarms(): readonly BoardAlarm[] {
    return [this.riseAlarm, this.fallAlarm];
  }

  /** The period between two pulses, us; 0 if there are none. */
  get periodUs(): number {
    return this.periodNanos / 1000;
  }

  /** Time between pulses from here on, us; 0 stops them. */
  setPeriod(periodUs: number): void {
    const nanos = periodUs * 1000;
    if (nanos === this.periodNanos) return;
    this.periodNanos = nanos;
    if (nanos === 0) {
      this.riseAlarm.cancel();
      return;
    }
    this.riseAlarm.scheduleAt(Math.max(this.clock.nanos, this.lastNanos + nanos));
  }

  private rise(): void {
    this.pulses++;
    this.lastNanos = this.clock.nanos;
    this.pins.drive(this.name, 1);
    this.toggles = 2 * this.bounces;
    this.fallAlarm.schedule(this.toggles > 0 ? BOUNCE_NANOS : this.periodNanos * HIGH_SHARE);
    this.riseAlarm.schedule(this.periodNanos);
  }

  private fall(): void {
    this.pins.drive(this.name, this.toggles % 2);
    if (this.toggles === 0) return;
    this.toggles--;
    const isLast = this.toggles === 0;
    this.pins.drive(this.name, isLast ? 1 : this.toggles % 2);
    this.fallAlarm.schedule(isLast ? this.periodNanos * HIGH_SHARE : BOUNCE_NANOS);
  }
}
