/**
 * The emulated chip behind the functions of controller/bundle.ts, so that whatever drives a core in an
 * engine can drive the one on the chip: settings and calibration go into flash, `start` boots the
 * board, `code` and `tick` hand codes over in RAM just before the chip's own tick, and the answers are
 * read from RAM. Inputs on the pins have no part in it. The digest is made here of the numbers that stand
 * in the chip's RAM after the tick; now and then the chip makes its own, and the two must agree.
 */
import { CODE_NAMES } from '../../controller/flat.js';
import { Board, type BoardOptions } from './board.js';
import { EngineState } from './engine-state.js';
import type { BoardFiles } from './files.js';

const CODES = CODE_NAMES.length;
/** The chip lists where its numbers are after the first tick that leaves it time to. */
const LISTING_MS_MAX = 12;

/** Builds the files of a board with these settings and calibration in its flash. */
export type MakeFiles = (settings: readonly number[], calibration: readonly number[]) => BoardFiles;

export class ChipEngine {
  board: Board | undefined;
  private state: EngineState | undefined;
  private settings: number[] = [];
  private calibration: number[] = [];
  private readonly values = new Int32Array(CODES);

  /** `digestEvery`: the chip is asked for its own digest every so many ticks. */
  constructor(
    private readonly makeFiles: MakeFiles,
    private readonly digestEvery: number,
    private readonly options: BoardOptions = {},
  ) {}

  /** As `smirr.set`; the boot numbers are the board's own affair. */
  set(part: number, index: number, value: number): void {
    if (part === 0) this.settings[index] = value;
    else if (part === 1) this.calibration[index] = value;
  }

  /** Boots the board; 0, or 1 if the chip's core refused the settings. Throws if it does not boot. */
  start(_settingsCount: number, _calibrationCount: number): number {
    const board = new Board(this.makeFiles(this.settings, this.calibration), this.options);
    this.board = board;
    this.state = new EngineState(board);
    this.settings = [];
    this.calibration = [];
    this.values.fill(0);
    board.analogue.noise = 0;
    for (const name of Object.keys(board.analogue.volts)) board.analogue.volts[name] = 1;
    board.onTickStart = () => this.handOver(board);
    board.powerOn();
    if (!board.runUntil(() => board.line.text.includes('core='), 3000)) {
      throw new Error(`the board did not make its core; it says: ${board.line.text}`);
    }
    board.runUntil(() => /core=\S+ /.test(board.line.text), 100);
    return board.line.text.includes('core=ok') ? 0 : 1;
  }

  code(index: number, value: number): void {
    this.values[index] = value;
  }

  tick(nowMs: number, fresh: number): number {
    const board = this.started();
    this.values[0] = nowMs;
    this.values[1] = fresh;
    board.runTicks(1);
    return board.peek('last_output');
  }

  /**
   * As `smirr.digest`; -1 before the first tick. Throws an Error if what stands in RAM does not give
   * what the chip itself made of it.
   */
  digest(): number {
    const board = this.started();
    if (board.ticks === 0) return -1;
    if (!this.isAsked(board.ticks - 1)) return this.digestOfRam(board);
    const own = board.peek('last_digest');
    const digest = this.state?.digest() ?? own;
    if (digest === own) return own;
    throw new Error(`the chip's digest is ${own}, that of the numbers in its RAM is ${digest}`);
  }

  private digestOfRam(board: Board): number {
    board.runUntil(() => this.state?.digest() !== undefined, LISTING_MS_MAX);
    return this.state?.digest() ?? -1;
  }

  private isAsked(tick: number): boolean {
    return tick % this.digestEvery === 0;
  }

  private handOver(board: Board): void {
    for (let index = 0; index < CODES; index++) board.poke('last_codes', this.values[index], index);
    board.poke('digest_wanted', this.isAsked(board.ticks) ? 1 : 0);
  }

  private started(): Board {
    if (this.board === undefined) throw new Error('start was not called');
    return this.board;
  }
}
