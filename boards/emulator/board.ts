/**
 * One emulated board: the chip with the image that is flashed, unchanged, and the world around it.
 * It boots, runs for a time or for a number of ticks, loses power, is reset by its watchdog, and can
 * be put back to an earlier moment. Every run has an end, and whatever silicon would not do ends it
 * with a BoardFault. Times are milliseconds or nanoseconds of emulated time, cycles are the core's.
 */
import { RP2040 } from 'rp2040js';
import type { Codes } from '../../controller/tick/1-calibrate.js';
import { Analogue } from './adc.js';
import { Bus } from './bus.js';
import { CacheModel } from './cache.js';
import { Circuit } from './circuit.js';
import { BoardClock, type BoardAlarm } from './clock.js';
import { BoardFault, isKnownWarning } from './fault.js';
import type { BoardFiles } from './files.js';
import { Flash } from './flash.js';
import { capture, type MemoryImage } from './memory-image.js';
import { partsOf, PLACE, type Parts } from './parts.js';
import { Pins } from './pins.js';
import { Random } from './random.js';
import { HAD_POWER_ON, repair, type TimeBase } from './repairs.js';
import { PulseSource } from './tach.js';
import { readCodes, TickPhase, writeCodes } from './tick-record.js';
import { Line, Uart } from './uart.js';
import { Watchdog } from './watchdog.js';
import { crc32Mpeg2 } from './crc.js';

/** Where the boot ROM puts the second stage, and what it enters after it (datasheet 2.8.1.3). */
const BOOT2_ADDRESS = 0x20041f00;
const BOOT2_BYTES = 256;
/** The ROM's stack ends below it. */
const STACK_TOP = BOOT2_ADDRESS;

/** A tick comes every 20 ms; a run that waits for one longer than this has failed. */
const TICK_NANOS_MAX = 3e9;

export interface BoardOptions {
  /** Seed of noise, of RAM after power-on and of half-written flash. */
  readonly seed?: number;
  /** Ring oscillator, Hz: 6.5 MHz nominal, 1.8 to 12 MHz guaranteed (datasheet 2.17). */
  readonly ringHz?: number;
  /** Counts cache misses, which makes the run slower. */
  readonly countsMisses?: boolean;
}

/** What one tick came to. */
export interface TickFigures {
  readonly cycles: number;
  readonly misses: number;
  /** When the tick began, ns. */
  readonly startNanos: number;
}

/** A moment to come back to. */
export interface Snapshot {
  restore(): void;
}

export class Board {
  readonly clock = new BoardClock();
  readonly mcu: RP2040;
  readonly pins: Pins;
  readonly analogue: Analogue;
  readonly circuit: Circuit;
  readonly tach: PulseSource;
  readonly speed: PulseSource;
  readonly flash: Flash;
  readonly watchdog: Watchdog;
  readonly line = new Line();
  readonly random: Random;

  /** Ticks that were completed since the board was made. */
  ticks = 0;
  /** Figures of the last completed tick. */
  lastTick: TickFigures = { cycles: 0, misses: 0, startNanos: 0 };
  /** When the chip last left reset, ns. */
  resetNanos = 0;
  /** When its first tick since then began, ns; undefined until it has. */
  firstTickNanos: number | undefined;
  /** False while the power is off. */
  isPowered = false;
  /** Boots since the board was made. */
  boots = 0;
  /** True while the engine is in a tick. */
  isInTick = false;
  /** Called just before the engine is entered, with the codes in RAM; it may overwrite them. */
  onTickStart: ((board: Board) => void) | undefined;
  /** Called when a tick is over and its outputs are set. */
  onTickEnd: ((board: Board) => void) | undefined;

  private readonly parts: Parts;
  private readonly bus: Bus;
  private readonly cache: CacheModel | undefined;
  private readonly timeBase: TimeBase;
  private readonly pristine: MemoryImage;
  private readonly resetCause = { word: 0 };
  private readonly receiveAlarm: BoardAlarm;
  private uart: Uart;
  private startCycles = 0;
  private startMisses = 0;
  private startNanos = 0;
  private stopAfterTicks = Infinity;
  private isStopped = false;
  private isHeld = false;

  constructor(
    readonly files: BoardFiles,
    options: BoardOptions = {},
  ) {
    this.random = new Random(options.seed ?? 1);
    const complain = (sentence: string): never => this.complain(sentence);
    const mcu = new RP2040(this.clock);
    this.mcu = mcu;
    this.hearWarnings();
    this.parts = partsOf(mcu);
    this.cache = options.countsMisses === true ? new CacheModel() : undefined;
    this.timeBase = repair(mcu, {
      clock: this.clock,
      parts: this.parts,
      resetCause: this.resetCause,
      ringHz: options.ringHz ?? 6.5e6,
      flushCache: () => this.cache?.flush(),
      complain,
    });
    this.uart = new Uart(mcu, this.clock, this.line);
    mcu.peripherals[PLACE.uart0] = this.uart;
    this.clock.attach(mcu.core);
    mcu.addClockListener((hertz) => this.clock.setFrequency(hertz));
    this.bus = new Bus(mcu, complain);
    this.pins = new Pins(mcu, this.clock, files.pins);
    this.analogue = new Analogue(mcu, this.clock, files.pins, this.random, complain);
    this.circuit = new Circuit(this.pins, this.analogue);
    this.tach = new PulseSource(this.clock, this.pins, 'tach');
    this.speed = new PulseSource(this.clock, this.pins, 'speed');
    this.flash = new Flash(mcu, this.clock, this.bus, this.random, complain);
    this.flash.onCut = () => this.cutPower();
    this.watchdog = new Watchdog(
      this.parts,
      () => mcu.peripherals[PLACE.psm].readUint32(8),
      () => this.clock.nanos,
      () => this.clock.interrupt(),
      complain,
    );
    this.receiveAlarm = this.clock.createAlarm(() => this.deliver());
    mcu.flash.set(files.flash);
    this.clock.forgetAllBut([]);
    this.clock.setFrequency(mcu.clkSys);
    this.pristine = capture([mcu], this.outsideChip());
    this.bus.watchedAddress = this.symbol('tick_phase');
    this.bus.onWatched = (value) => this.seePhase(value);
  }

  /** Address of a symbol of the image. Throws an Error if it has none. */
  symbol(name: string): number {
    const address = this.files.symbols[name];
    if (address === undefined) throw new Error(`the image has no symbol '${name}'`);
    return address;
  }

  /** A word of RAM, signed, by symbol and index. */
  peek(name: string, index = 0): number {
    return this.mcu.sramView.getInt32(this.symbol(name) - 0x20000000 + 4 * index, true);
  }

  /** Writes a word of RAM by symbol. */
  poke(name: string, value: number, index = 0): void {
    this.mcu.sramView.setInt32(this.symbol(name) - 0x20000000 + 4 * index, value, true);
  }

  /** The codes that the core saw in the last tick. */
  codes(into: Codes): Codes {
    return readCodes(this, into);
  }

  /** Overwrites the codes that the tick about to run will see; call it from `onTickStart`. */
  setCodes(codes: Codes): void {
    writeCodes(this, codes);
  }

  /** Puts the power on: RAM is random, the boot ROM runs. */
  powerOn(): void {
    const ram = this.mcu.sram;
    for (let at = 0; at < ram.length; at += 4) this.mcu.sramView.setUint32(at, this.random.word());
    this.resetCause.word = HAD_POWER_ON;
    this.isPowered = true;
    this.resetChip();
    this.parts.watchdog.reason = 0;
    this.parts.watchdog.scratchData.fill(0);
  }

  /** Takes the power away at once: outputs float, a flash operation is left half done. */
  cutPower(): void {
    this.isPowered = false;
    this.stop();
    this.forgetChip();
    this.pins.afterReset();
  }

  /** Resets the chip as its watchdog does, or as power-on goes on: RAM and flash stay. */
  resetChip(): void {
    this.watchdog.keepOver(() => this.forgetChip());
    this.timeBase.reset();
    this.resetNanos = this.clock.nanos;
    this.firstTickNanos = undefined;
    this.boots++;
    this.pins.afterReset();
    this.enterBoot2();
  }

  /** Says characters to the board over its serial line. */
  say(text: string): void {
    this.sayBytes(Array.from(text, (character) => character.charCodeAt(0)));
  }

  /** Says bytes to the board over its serial line. */
  sayBytes(bytes: Iterable<number>): void {
    for (const byte of bytes) this.line.waiting.push(byte);
    if (!this.receiveAlarm.scheduled) this.receiveAlarm.schedule(0);
  }

  /** Holds the program at the start of its next tick; interrupts go on. `release` lets it go. */
  holdAtTick(): void {
    this.isHeld = true;
  }

  release(): void {
    this.isHeld = false;
  }

  /** Runs for a time. Returns early only if the power went. */
  runMs(ms: number): void {
    this.run(this.clock.nanos + ms * 1e6);
  }

  /** Runs until `count` more ticks are over. Throws a BoardFault if none comes for 3 s. */
  runTicks(count: number): void {
    const target = this.ticks + count;
    while (this.ticks < target && this.isPowered) {
      const before = this.ticks;
      this.stopAfterTicks = target;
      this.run(this.clock.nanos + TICK_NANOS_MAX);
      this.stopAfterTicks = Infinity;
      if (this.ticks === before && this.isPowered) this.complain('no tick came for 3 s');
    }
  }

  /** Runs until `isMet` holds, looked at every `stepMs`; false if it did not within `withinMs`. */
  runUntil(isMet: () => boolean, withinMs: number, stepMs = 1): boolean {
    const endNanos = this.clock.nanos + withinMs * 1e6;
    while (!isMet()) {
      if (this.clock.nanos >= endNanos || !this.isPowered) return false;
      this.runMs(stepMs);
    }
    return true;
  }

  /** A copy of everything that changes; `restore` brings the board back to this moment. */
  snapshot(): Snapshot {
    return capture([this], [this.pristine, this.files, this.mcu.flash16]);
  }

  private run(untilNanos: number): void {
    const { clock, watchdog } = this;
    const core = this.mcu.core;
    this.isStopped = !this.isPowered;
    while (!this.isStopped && clock.nanos < untilNanos) {
      if (watchdog.hasBitten) this.resetChip();
      if (core.waiting) {
        // What came while it was masked, just before WFI, ends WFI at once (ARMv6-M, B1.5.18); the emulator
        // looks only when something comes, and would sleep until the next.
        if ((core.pendingInterrupts & core.enabledInterrupts) !== 0 && core.checkForInterrupts()) {
          core.waiting = false;
        }
        if (core.waiting) clock.advanceTo(Math.min(clock.soonestNanos, untilNanos));
        continue;
      }
      if (this.isHeld && this.isInTick) {
        this.runInterruptsOnly(untilNanos);
        continue;
      }
      clock.setLimit(untilNanos);
      while (core.cycles < clock.limitCycles && !core.waiting) core.executeInstruction();
      if (clock.nanos >= clock.soonestNanos) clock.ring();
    }
    if (watchdog.hasBitten && this.isPowered) this.resetChip();
  }

  /** One step while the program is held: the next alarm, or one instruction of a handler. */
  private runInterruptsOnly(untilNanos: number): void {
    const { clock } = this;
    const core = this.mcu.core;
    if (core.IPSR === 0 && !core.interruptsUpdated) {
      clock.advanceTo(Math.min(clock.soonestNanos, untilNanos));
      return;
    }
    core.executeInstruction();
    if (clock.nanos >= clock.soonestNanos) clock.ring();
  }

  private stop(): void {
    this.isStopped = true;
    this.clock.interrupt();
  }

  /** The chip's own state begins anew; time, cycles, RAM, flash and the world go on. */
  private forgetChip(): void {
    const core = this.mcu.core;
    const { cycles } = core;
    this.isInTick = false;
    this.flash.reset();
    this.clock.forgetAllBut(this.worldAlarms());
    this.pristine.restore();
    core.cycles = cycles;
    this.clock.setFrequency(this.mcu.clkSys);
  }

  private enterBoot2(): void {
    const { core, flash, sram } = this.mcu;
    const boot2 = flash.subarray(0, BOOT2_BYTES);
    const stored = new DataView(boot2.buffer, boot2.byteOffset).getUint32(BOOT2_BYTES - 4, true);
    if (crc32Mpeg2(boot2.subarray(0, BOOT2_BYTES - 4)) !== stored) {
      this.complain('boot2 fails its CRC: the boot ROM would wait for USB');
    }
    sram.set(boot2, BOOT2_ADDRESS - 0x20000000);
    core.SP = STACK_TOP;
    core.LR = 0;
    core.PC = BOOT2_ADDRESS;
  }

  private seePhase(phase: number): void {
    const core = this.mcu.core;
    if (phase === TickPhase.Begun) {
      this.isInTick = true;
      this.firstTickNanos ??= this.clock.nanos;
      if (this.isHeld) this.clock.interrupt();
      this.onTickStart?.(this);
      this.startCycles = core.cycles;
      this.startNanos = this.clock.nanos;
      this.bus.cache = this.cache;
      this.startMisses = this.cache?.misses ?? 0;
    } else if (phase === TickPhase.Over) {
      this.lastTick = {
        cycles: core.cycles - this.startCycles,
        misses: (this.cache?.misses ?? 0) - this.startMisses,
        startNanos: this.startNanos,
      };
    } else if (phase === TickPhase.Told) {
      this.isInTick = false;
      this.ticks++;
      this.onTickEnd?.(this);
      if (this.ticks >= this.stopAfterTicks) this.stop();
    }
  }

  private deliver(): void {
    const byte = this.line.waiting.shift();
    if (byte === undefined) return;
    if (this.isPowered) this.uart.arrive(byte);
    this.receiveAlarm.schedule(10 * this.uart.bitNanos);
  }

  private worldAlarms(): BoardAlarm[] {
    return [
      this.receiveAlarm,
      ...this.pins.worldAlarms,
      ...this.tach.worldAlarms,
      ...this.speed.worldAlarms,
      ...this.flash.worldAlarms,
    ];
  }

  /** What hangs on the chip's objects but is no part of the chip: a reset leaves it. */
  private outsideChip(): object[] {
    const { mcu } = this;
    return [mcu.sram, mcu.flash, mcu.flash16, this.clock, this.line, this.resetCause];
  }

  private hearWarnings(): void {
    const hear = (component: string, text: string) => {
      if (!isKnownWarning(component, text)) this.complain(`emulator, ${component}: ${text}`);
    };
    const ignore = () => undefined;
    this.mcu.logger = { debug: ignore, info: ignore, warn: hear, error: hear };
  }

  private complain(sentence: string): never {
    throw new BoardFault(sentence, this.mcu.core.PC, this.clock.nanos);
  }
}
