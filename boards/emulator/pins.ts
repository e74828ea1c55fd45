/**
 * The board's pins as boards/pico/pins.json lists them, seen from outside the chip: levels of outputs
 * with the times they changed, the alternating `enable` turned into closed or open, and switches and
 * pulse inputs driven to levels. A pin that the chip does not drive has its safe level, by the
 * resistor on the board; an open switch has what the pad's own resistor makes of it.
 */
import { GPIOPinState, type GPIOPin, type RP2040 } from 'rp2040js';
import type { BoardAlarm, BoardClock } from './clock.js';

export interface PinRow {
  readonly name: string;
  readonly gpio: number;
  readonly direction: 'in' | 'out' | 'analog';
  readonly safe: 'low' | 'high';
  readonly pull: 'none' | 'up' | 'down';
  readonly active: 'low' | 'high';
  readonly why: string;
}

/** What boards/pico/pins.json says, as far as the harness needs it. */
export interface BoardPins {
  readonly referenceMv: number;
  readonly pins: readonly PinRow[];
  readonly analogue: readonly { readonly name: string; readonly channel: number }[];
  readonly switch: {
    readonly select: readonly number[];
    readonly channel: number;
    /** The input's name by the number that the select pins form. */
    readonly inputs: Readonly<Record<string, string>>;
  };
  readonly levels: { readonly levelSwitchWetBelow: number; readonly feedbackHighFrom: number };
}

/** One change of an output's level, or of what `enable` comes to. */
export interface PinChange {
  readonly nanos: number;
  readonly name: string;
  /** 1 is high; for `enable-closed` 1 is closed. */
  readonly level: number;
}

/** The two edges of a 500 Hz signal are 1 ms apart; without one for this long the switch is open. */
const ENABLE_HOLD_NANOS = 2.5e6;
/** The high side closes after this many edges in a row: its pump capacitor must fill. */
const ENABLE_EDGES = 4;

/** The name under which closing and opening of the high side are noted. */
export const ENABLE_CLOSED = 'enable-closed';

export class Pins {
  /** Changes of pump, lamp and what `enable` comes to, oldest first; its edges are only counted. */
  readonly changes: PinChange[] = [];
  /** Levels of outputs by name. */
  readonly levels: Record<string, number> = {};
  isEnableClosed = false;
  enableEdges = 0;

  private readonly byName = new Map<string, PinRow>();
  /** Inputs that something drives, by name; the rest are open. */
  private readonly driven: Record<string, number> = {};
  private edgesInRow = 0;
  private lastEdgeNanos = -Infinity;
  private readonly openAlarm: BoardAlarm;
  /** Called when pump or enable change, for the circuit around them. */
  onOutput: () => void = () => undefined;

  constructor(
    private readonly mcu: RP2040,
    private readonly clock: BoardClock,
    pins: BoardPins,
  ) {
    this.openAlarm = clock.createAlarm(() => this.openEnable());
    for (const row of pins.pins) {
      this.byName.set(row.name, row);
      const pin = mcu.gpio[row.gpio];
      if (row.direction === 'out') {
        this.levels[row.name] = row.safe === 'high' ? 1 : 0;
        pin.addListener((state) => this.seeOutput(row, state));
      } else if (row.direction === 'in') {
        pin.addListener(() => this.settle(row, pin));
      }
    }
  }

  get worldAlarms(): readonly BoardAlarm[] {
    return [this.openAlarm];
  }

  /** Drives an input to a level from outside; undefined opens the wire. */
  drive(name: string, level: number | undefined): void {
    const row = this.row(name);
    if (level === undefined) delete this.driven[name];
    else this.driven[name] = level;
    this.settle(row, this.mcu.gpio[row.gpio]);
  }

  /** Closes or opens a switch: closed drives its active level, open leaves the wire to the pad. */
  setSwitch(name: string, isClosed: boolean): void {
    const active = this.row(name).active === 'high' ? 1 : 0;
    this.drive(name, isClosed ? active : undefined);
  }

  /** After a reset the pads begin anew: what the world drives stands at once, outputs float. */
  afterReset(): void {
    for (const row of this.byName.values()) {
      const pin = this.mcu.gpio[row.gpio];
      if (row.direction === 'out') this.seeOutput(row, pin.value);
      else if (row.direction === 'in') this.settle(row, pin);
    }
  }

  /** Whether the chip drives this output itself. */
  isDriven(name: string): boolean {
    return this.mcu.gpio[this.row(name).gpio].outputEnable;
  }

  /** When an output last changed to this level, ns; -1 if it never did. */
  lastChange(name: string, level: number): number {
    for (let at = this.changes.length - 1; at >= 0; at--) {
      const change = this.changes[at];
      if (change.name === name && change.level === level) return change.nanos;
    }
    return -1;
  }

  private row(name: string): PinRow {
    const row = this.byName.get(name);
    if (row === undefined) throw new Error(`pins.json has no pin '${name}'`);
    return row;
  }

  private seeOutput(row: PinRow, state: GPIOPinState): void {
    const level = levelOf(row, state);
    // The emulator's inputs do not see what the chip itself drives; a pad does (datasheet 2.19.4).
    setLevel(this.mcu.gpio[row.gpio], level);
    if (level === this.levels[row.name]) return;
    this.levels[row.name] = level;
    if (row.name === 'enable') {
      this.seeEnableEdge();
      return;
    }
    if (row.name === 'pump' || row.name === 'lamp') {
      this.changes.push({ nanos: this.clock.nanos, name: row.name, level });
    }
    if (row.name === 'pump') this.onOutput();
  }

  private seeEnableEdge(): void {
    const nanos = this.clock.nanos;
    this.enableEdges++;
    this.edgesInRow = nanos - this.lastEdgeNanos < ENABLE_HOLD_NANOS ? this.edgesInRow + 1 : 1;
    this.lastEdgeNanos = nanos;
    this.openAlarm.schedule(ENABLE_HOLD_NANOS);
    if (this.isEnableClosed || this.edgesInRow < ENABLE_EDGES) return;
    this.isEnableClosed = true;
    this.changes.push({ nanos, name: ENABLE_CLOSED, level: 1 });
    this.onOutput();
  }

  private openEnable(): void {
    this.edgesInRow = 0;
    if (!this.isEnableClosed) return;
    this.isEnableClosed = false;
    this.changes.push({ nanos: this.clock.nanos, name: ENABLE_CLOSED, level: 0 });
    this.onOutput();
  }

  private settle(row: PinRow, pin: GPIOPin): void {
    const driven = this.driven[row.name];
    setLevel(pin, driven ?? (pin.pullupEnabled ? 1 : 0));
  }
}

/** Sets a pad's level; the emulator notes an edge even where the level stays, so only changes. */
function setLevel(pin: GPIOPin, level: number): void {
  const raw = (pin as unknown as { rawInputValue: boolean }).rawInputValue;
  if (raw !== (level === 1)) pin.setInputValue(level === 1);
}

function levelOf(row: PinRow, state: GPIOPinState): number {
  if (state === GPIOPinState.High) return 1;
  if (state === GPIOPinState.Low) return 0;
  return row.safe === 'high' ? 1 : 0;
}
