/**
 * The port `emulator`: an emulated board in this process behind serialport's binding interface, so that
 * every command of the link runs without hardware. It lies on a bench: powered, arm switch open, bench
 * strap closed, engine still, unless told otherwise. `emulator:FILE` keeps its flash in a file from one
 * command to the next. Time passes only while somebody reads.
 */
import type {
  BindingInterface,
  BindingPortInterface,
  OpenOptions,
  PortInfo,
} from '@serialport/bindings-interface';
import { existsSync, readFileSync } from 'node:fs';
import { Board } from '../../boards/emulator/board.js';
import { feedCodes } from '../../boards/emulator/feed.js';
import { hasImage, loadBoardFiles } from '../../boards/emulator/files.js';
import { codesFor } from '../../boards/emulator/inverse.js';
import { LIMITS } from '../../controller/limits.js';
import { makeReadings, type Readings } from '../../controller/readings.js';
import { makeCodesRecord } from '../../controller/tick/1-calibrate.js';
import { Fault } from '../fault.js';
import { writeWhole } from '../files.js';
import { packagePath } from '../package-folder.js';
import { packFlash } from '../pack/compose.js';
import { FLASH } from '../pack/flash-map.js';
import { loadPack, type LoadedPack } from '../pack/load.js';
import { namedSettings } from '../settings/named.js';
import type { Terminal } from '../terminal.js';
import { openThrough, type After, type LinkPort } from './port.js';

export const EMULATOR = 'emulator';

/** How far the board runs before somebody else gets a turn, ms. */
const STEP_MS = 2;
const TICK_MS = LIMITS.tickMs;

/** What stands on the emulated pins when a command does not say. */
const ON_BENCH: Partial<Readings> = {
  ...{ rpm: 0, boostHpa: 0, chargeDc: 250, ambientDc: 200, supplyMv: 12600, level: 1 },
  ...{ arm: 0, stage: 0 },
};

/** What the board meets, tick by tick; the record may be rewritten. */
export type Scene = (tick: number) => Partial<Readings>;

export interface EmulatorOptions {
  readonly scene?: Scene;
  /** False opens the bench strap. */
  readonly isBench?: boolean;
  /** True closes the lock strap. */
  readonly isLocked?: boolean;
  /** Gets the board before its power comes on, for tests. */
  readonly onBoard?: (board: Board) => void;
}

/** True if `port` names the emulated board. */
export function isEmulator(port: string): boolean {
  return port === EMULATOR || port.startsWith(`${EMULATOR}:`);
}

/** Makes and powers the board, and opens it as a port. Throws E-PACK-01 without an image. */
export async function openEmulator(
  name: string,
  terminal: Terminal,
  options: EmulatorOptions = {},
): Promise<LinkPort> {
  const settings = await namedSettings(undefined, terminal);
  const loaded = await loadPack({ board: 'pico', settings, calibration: undefined }, terminal);
  if (!hasImage(packagePath('.'))) throw new Fault('E-LINK-07', 'the emulated board has no image');
  const file = name.slice(EMULATOR.length + 1);
  const board = makeBoard(loaded, file, options);
  options.onBoard?.(board);
  board.powerOn();
  const binding = new EmulatorBinding(board);
  const port = await openThrough(binding, name, binding.after);
  const close = port.close.bind(port);
  port.close = async () => {
    await close();
    if (file !== '') await writeWhole(file, board.mcu.flash.subarray(0, FLASH.length));
  };
  return port;
}

function makeBoard(loaded: LoadedPack, file: string, options: EmulatorOptions): Board {
  const { symbols, pins } = loadBoardFiles(packagePath('.'));
  const flash = file !== '' && existsSync(file) ? readFileSync(file) : packFlash(loaded.pack);
  if (flash.length !== FLASH.length) {
    const sentence = `${file} has ${flash.length} bytes; the flash of an emulated board has ${FLASH.length}`;
    throw new Fault('E-LINK-07', sentence, { file });
  }
  const board = new Board({ flash, symbols, pins });
  const readings = Object.assign(makeReadings(), ON_BENCH);
  const codes = makeCodesRecord();
  const feed = (tick: number) => {
    Object.assign(readings, options.scene?.(tick));
    codesFor(loaded.calibration.calibration, readings, LIMITS.standardHpa, codes);
    feedCodes(board, codes, { levelIsSwitch: true, feedbackFromCodes: false });
  };
  feed(0);
  if (options.scene) board.onTickEnd = () => feed(board.ticks);
  board.pins.setSwitch('bench', options.isBench ?? true);
  board.pins.setSwitch('lock', options.isLocked ?? false);
  return board;
}

/** Milliseconds of a scene at a tick. */
export function sceneMs(tick: number): number {
  return tick * TICK_MS;
}

interface Waiting {
  readonly atNanos: number;
  readonly then: () => void;
}

/** A binding of serialport whose only port is the board. */
class EmulatorBinding implements BindingInterface {
  private waiting: Waiting[] = [];

  constructor(private readonly board: Board) {}

  list(): Promise<PortInfo[]> {
    return Promise.resolve([]);
  }

  open(options: OpenOptions): Promise<BindingPortInterface> {
    return Promise.resolve(new EmulatedPort(this.board, options, () => this.ring()));
  }

  readonly after: After = (ms, then) => {
    const one = { atNanos: this.board.clock.nanos + ms * 1e6, then };
    this.waiting.push(one);
    return () => {
      this.waiting = this.waiting.filter((each) => each !== one);
    };
  };

  private ring(): void {
    const due = this.waiting.filter(({ atNanos }) => atNanos <= this.board.clock.nanos);
    if (due.length === 0) return;
    this.waiting = this.waiting.filter((each) => !due.includes(each));
    for (const { then } of due) then();
  }
}

/** An error that tells the stream that the port was closed while it read. */
function canceled(): Error {
  return Object.assign(new Error('the port is closed'), { canceled: true });
}

class EmulatedPort implements BindingPortInterface {
  isOpen = true;
  readonly openOptions: Required<OpenOptions>;
  private readonly arrived: number[] = [];

  constructor(
    private readonly board: Board,
    options: OpenOptions,
    private readonly ring: () => void,
  ) {
    this.openOptions = {
      ...{ dataBits: 8, lock: true, stopBits: 1, parity: 'none', rtscts: false, xon: false },
      ...{ xoff: false, xany: false, hupcl: true },
      ...options,
    };
    board.line.onByte = (byte) => this.arrived.push(byte);
  }

  /** Runs the board until it has said something. */
  async read(buffer: Buffer, offset: number, length: number) {
    while (this.arrived.length === 0) {
      await new Promise((resolve) => setImmediate(resolve));
      if (!this.isOpen) throw canceled();
      if (!this.board.isPowered) throw new Error('the emulated board has no power');
      this.board.runMs(STEP_MS);
      this.ring();
    }
    if (!this.isOpen) throw canceled();
    const bytes = this.arrived.splice(0, length);
    buffer.set(bytes, offset);
    return { buffer, bytesRead: bytes.length };
  }

  write(buffer: Buffer): Promise<void> {
    this.board.sayBytes(buffer);
    return Promise.resolve();
  }

  close(): Promise<void> {
    this.isOpen = false;
    return Promise.resolve();
  }

  update(): Promise<void> {
    return Promise.resolve();
  }

  set(): Promise<void> {
    return Promise.resolve();
  }

  get(): Promise<{ cts: boolean; dsr: boolean; dcd: boolean }> {
    return Promise.resolve({ cts: false, dsr: false, dcd: false });
  }

  getBaudRate(): Promise<{ baudRate: number }> {
    return Promise.resolve({ baudRate: this.openOptions.baudRate });
  }

  flush(): Promise<void> {
    return Promise.resolve();
  }

  drain(): Promise<void> {
    return Promise.resolve();
  }
}
