/**
 * The device's account and recorder beside a core of the host: each tick's codes, decision, account numbers and
 * events go to the C program (recorder-host.c), which keeps a flash of its own; when it asks for the state
 * of a tick it gets it. Everything is synchronous: two named pipes, read and written in turn.
 */
import { execFileSync, spawn } from 'node:child_process';
import {
  closeSync,
  mkdtempSync,
  openSync,
  readFileSync,
  readSync,
  rmSync,
  writeFileSync,
  writeSync,
} from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { FLASH_BYTES } from '../../../boards/emulator/flash.js';
import { calibrationToFlat, layoutHash, settingsToFlat } from '../../../controller/flat.js';
import { boot, create, tickCodes, type Boot, type Core } from '../../../controller/core.js';
import { EVENT_RING } from '../../../controller/events.js';
import { LIMITS } from '../../../controller/limits.js';
import { snapshot } from '../../../controller/snapshot.js';
import type { Calibration } from '../../../controller/calibration.js';
import type { Settings } from '../../../controller/settings.js';
import { Cause } from '../../../controller/tick/5-cutoffs.js';
import { isLit } from '../../../controller/tick/6-output.js';
import type { Codes } from '../../../controller/tick/1-calibrate.js';
import { writeCodes } from '../../../boards/emulator/tick-record.js';
import { wordOf } from '../../../host-sim/link/state-words.js';
import { compileForHost, type HostProgram } from './build.js';

const SOURCES = ['account.c', 'account-ring.c', 'crc32.c', 'recorder.c', 'run-log.c'];
const BATCH = 50;
const DISARMED_TICKS = 50;

/** Compiles it; `isFast` leaves out the checks of memory and arithmetic. */
export function compileRecorder(isFast = false): HostProgram {
  return compileForHost('recorder-host.c', SOURCES, { isFast });
}

/** What the C program counted. */
export interface RecorderFigures {
  readonly programsInTick: number;
  readonly erasesInTick: number;
  readonly sectorErasesMost: number;
  readonly sectorErasesFewest: number;
  /** Everything it printed before. */
  readonly said: string;
}

/** One boot of a core with the C program beside it. */
export class RecordedCore {
  readonly core: Core;
  private readonly folder = mkdtempSync(path.join(os.tmpdir(), 'smirr-rec-'));
  private readonly out: number;
  private readonly back: number;
  private readonly ended: Promise<string>;
  private batch: number[] = [];
  private states: number[][] = [];
  private events: number;
  private armOpenTicks = 0;

  constructor(
    program: HostProgram,
    flash: Uint8Array,
    settings: Settings,
    calibration: Calibration,
    from: Boot,
  ) {
    const [image, to, back] = ['flash', 'to', 'back'].map((name) => path.join(this.folder, name));
    writeFileSync(image, flash);
    execFileSync('mkfifo', [to, back]);
    const child = spawn(program.path, [image, to, back], { stdio: ['ignore', 'pipe', 'inherit'] });
    let said = '';
    child.stdout.on('data', (bytes: Buffer) => (said += bytes.toString()));
    this.ended = new Promise((resolve, reject) => {
      child.on('close', (code) =>
        code === 0 ? resolve(said) : reject(new Error(`it ended with ${code}`)),
      );
    });
    this.out = openSync(to, 'w');
    this.back = openSync(back, 'r');
    this.core = create(settings, calibration, LIMITS);
    boot(this.core, from);
    this.events = 0;
    const flat = settingsToFlat(settings);
    const calibrationFlat = calibrationToFlat(calibration);
    const told = [from.powerOn, from.afterRunning, from.pumpStuckOn, from.tankUl, from.ambientHpa];
    const lists = [flat.length, ...flat, calibrationFlat.length, ...calibrationFlat];
    this.send([layoutHash(), ...lists, ...[...told, from.bench, false].map(Number)]);
  }

  /** One tick of the core, recorded. */
  tick(codes: Codes): void {
    const { core, batch } = this;
    tickCodes(core, codes);
    const { state } = core;
    writeCodes({ peek: () => 0, poke: (_name, value) => batch.push(value) }, codes);
    const word = wordOf(core, isLit(state.output.lamp, codes.nowMs));
    this.armOpenTicks = codes.arm === 1 ? 0 : this.armOpenTicks + 1;
    const mayErase = (word & 3) === 0 && this.armOpenTicks >= DISARMED_TICKS;
    batch.push(word, Number(mayErase), ...this.numbers(), ...this.newEvents());
    this.states.push(snapshot(state));
    if (this.states.length === BATCH) this.flush();
  }

  /** Ends it as a power cut does, and gives the flash that is left and what was counted. */
  async end(): Promise<{ flash: Uint8Array; figures: RecorderFigures }> {
    this.flush();
    this.send([0]);
    this.listen();
    const said = await this.ended;
    closeSync(this.out);
    closeSync(this.back);
    const flash = readFileSync(path.join(this.folder, 'flash'));
    rmSync(this.folder, { recursive: true });
    const lines = said.trimEnd().split('\n');
    const [programsInTick, erasesInTick, sectorErasesMost, sectorErasesFewest] = (lines.pop() ?? '')
      .split(' ')
      .map(Number);
    const figures = {
      ...{ programsInTick, erasesInTick, sectorErasesMost, sectorErasesFewest },
      said: lines.join('\n'),
    };
    return { flash, figures };
  }

  /** AccountNumber 0 to 5. */
  private numbers(): number[] {
    const { account, calibrate, events, cutoffs } = this.core.state;
    return [
      account.tankUl,
      account.tankKnown,
      calibrate.ambientHpa,
      events.total,
      Number((cutoffs.latched & Cause.PumpStuckOn) !== 0),
      Number((cutoffs.causes & (Cause.EngineStill | Cause.EngineUnknown)) === 0),
    ];
  }

  private newEvents(): number[] {
    const { events } = this.core.state;
    const list = [events.total - this.events];
    for (; this.events < events.total; this.events++) {
      const at = this.events % EVENT_RING;
      list.push(events.ids[at], events.details[at], events.timesMs[at]);
    }
    return list;
  }

  private flush(): void {
    if (this.states.length === 0) return;
    this.send([this.states.length, ...this.batch]);
    this.listen();
    this.batch = [];
    this.states = [];
  }

  private send(numbers: readonly number[]): void {
    const bytes = Int32Array.from([numbers.length, ...numbers]);
    const buffer = Buffer.from(bytes.buffer);
    for (let at = 0; at < buffer.length;) at += writeSync(this.out, buffer, at);
  }

  /** Answers what it asks until the batch is done. */
  private listen(): void {
    const byte = Buffer.alloc(1);
    for (;;) {
      if (readSync(this.back, byte, 0, 1, null) === 0) throw new Error('the recorder ended');
      if (byte.toString() !== 'S') return;
      const at = Buffer.alloc(4);
      for (let got = 0; got < 4;) got += readSync(this.back, at, got, 4 - got, null);
      const state = this.states[at.readInt32LE()];
      this.send(state);
    }
  }
}

/** Flash as it leaves the factory. */
export function blankFlash(): Uint8Array {
  return new Uint8Array(FLASH_BYTES).fill(0xff);
}
