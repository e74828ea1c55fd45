/**
 * Time of the emulated board, in nanoseconds since it was made. The emulator's peripherals and the
 * world around the board (edges, bytes, flash operations) set alarms here; the run loop moves time on
 * and looks at one number to see whether an alarm is due. Time never goes back but by a restore.
 */
import type { AlarmCallback, IAlarm, IClock } from './parts.js';

/** One alarm: set it, and its callback runs when time gets there. */
export class BoardAlarm implements IAlarm {
  /** When it rings; meaningless while it is not scheduled. */
  nanos = 0;
  scheduled = false;
  next: BoardAlarm | null = null;

  constructor(
    private readonly clock: BoardClock,
    readonly callback: AlarmCallback,
  ) {}

  schedule(deltaNanos: number): void {
    this.scheduleAt(this.clock.nanos + deltaNanos);
  }

  scheduleAt(nanos: number): void {
    if (this.scheduled) this.clock.unlink(this);
    this.nanos = nanos;
    this.clock.link(this);
  }

  cancel(): void {
    if (this.scheduled) this.clock.unlink(this);
  }
}

/** What counts cycles: the emulated core. */
export interface CycleCounter {
  cycles: number;
}

/**
 * A list of alarms, soonest first (there are some twenty, so a list is as good as a heap), and the
 * time as the core's cycles make it. So that the run loop has one number to compare, the soonest
 * alarm is also kept as a count of cycles.
 */
export class BoardClock implements IClock {
  /** When the soonest alarm rings; Infinity if none is set. */
  soonestNanos = Infinity;
  /** The core may run on until it has this many cycles; then `ring` is due. */
  limitCycles = 0;
  private first: BoardAlarm | null = null;
  private counter: CycleCounter = { cycles: 0 };
  private cycleNanos = 8;
  private baseNanos = 0;
  private baseCycles = 0;
  private lastNanos = 0;
  private untilNanos = 0;

  get nanos(): number {
    return this.baseNanos + (this.counter.cycles - this.baseCycles) * this.cycleNanos;
  }

  /** Counts this core's cycles from here on. */
  attach(counter: CycleCounter): void {
    this.rebase(this.nanos);
    this.counter = counter;
    this.baseCycles = counter.cycles;
  }

  /** Time of one cycle from here on. */
  setFrequency(hertz: number): void {
    this.rebase(this.nanos);
    this.cycleNanos = 1e9 / hertz;
    this.limitCycles = 0;
  }

  createAlarm(callback: AlarmCallback): BoardAlarm {
    return new BoardAlarm(this, callback);
  }

  link(alarm: BoardAlarm): void {
    let before: BoardAlarm | null = null;
    let after = this.first;
    while (after !== null && after.nanos <= alarm.nanos) {
      before = after;
      after = after.next;
    }
    alarm.next = after;
    alarm.scheduled = true;
    if (before === null) this.first = alarm;
    else before.next = alarm;
    this.findSoonest();
  }

  unlink(alarm: BoardAlarm): void {
    alarm.scheduled = false;
    if (this.first === alarm) this.first = alarm.next;
    else {
      let before = this.first;
      while (before !== null && before.next !== alarm) before = before.next;
      if (before !== null) before.next = alarm.next;
    }
    alarm.next = null;
    this.findSoonest();
  }

  /** Lets the core run until the next alarm, or `untilNanos` if that is sooner. */
  setLimit(untilNanos: number): void {
    this.untilNanos = untilNanos;
    this.limitCycles = this.cyclesAt(Math.min(this.soonestNanos, untilNanos));
  }

  /** Ends the core's run after this instruction. */
  interrupt(): void {
    this.limitCycles = 0;
  }

  /** Rings every alarm that is due, each at its own time, and comes back to now. */
  ring(): void {
    this.advanceTo(this.nanos);
  }

  /** Moves time to `nanos`; every alarm up to then rings at its own time. */
  advanceTo(nanos: number): void {
    for (let alarm = this.first; alarm !== null && alarm.nanos <= nanos; alarm = this.first) {
      this.unlink(alarm);
      this.lastNanos = Math.max(this.lastNanos, alarm.nanos);
      this.rebase(this.lastNanos);
      alarm.callback();
    }
    this.lastNanos = Math.max(this.lastNanos, nanos);
    this.rebase(this.lastNanos);
  }

  /** Forgets all alarms but `kept`: what a reset of the chip does to the chip's own. */
  forgetAllBut(kept: readonly BoardAlarm[]): void {
    const stays = kept.filter((alarm) => alarm.scheduled);
    for (let alarm = this.first; alarm !== null; alarm = this.first) this.unlink(alarm);
    for (const alarm of stays) this.link(alarm);
  }

  private rebase(nanos: number): void {
    this.baseNanos = nanos;
    this.baseCycles = this.counter.cycles;
  }

  /** The first count of cycles after that time: one that is rounded could stop just before it. */
  private cyclesAt(nanos: number): number {
    return this.baseCycles + Math.floor((nanos - this.baseNanos) / this.cycleNanos) + 1;
  }

  private findSoonest(): void {
    this.soonestNanos = this.first === null ? Infinity : this.first.nanos;
    const limit = this.cyclesAt(Math.min(this.soonestNanos, this.untilNanos));
    if (limit < this.limitCycles) this.limitCycles = limit;
  }
}
