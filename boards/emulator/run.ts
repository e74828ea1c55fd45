/**
 * Runs a board through a source of codes, a tick every 20 ms, and gives tick by tick what the chip's
 * core saw and decided. It boots the board from a power-on with the source's first codes on its pins.
 */
import { makeCodesRecord, type Codes } from '../../controller/tick/1-calibrate.js';
import { Board, type BoardOptions } from './board.js';
import { feedCodes, type FeedOptions } from './feed.js';
import type { BoardFiles } from './files.js';
import type { BoardPins } from './pins.js';
import { readBoot, type BoardBoot } from './tick-record.js';

/** What is to stand on the pins: codes that the core should come to see, every 20 ms. */
export interface BoardSource {
  readonly ticks: number;
  /** The codes at a tick; the record may be the same each time. */
  at(index: number): Codes;
}

/** One tick of the chip. `codes` is a record of its own. */
export interface BoardTick {
  readonly index: number;
  readonly nowMs: number;
  readonly codes: Codes;
  /** The word that `smirr.tick` answered. */
  readonly output: number;
  /** `smirr.digest` after the tick. */
  readonly digest: number;
}

export interface BoardRun {
  /** What the shim told the core before its first tick. */
  readonly boot: BoardBoot;
  readonly board: Board;
  /** Runs on as it is read. Throws a BoardFault if the chip does what silicon would not. */
  ticks(): Generator<BoardTick>;
}

export interface RunOptions extends BoardOptions, Partial<FeedOptions> {
  /** Deviation of the converter's noise, in its steps; 0 if absent. */
  readonly noise?: number;
}

/** The first tick comes within 600 ms; a board that has none after this has failed. */
const FIRST_TICK_MS_MAX = 3000;

/**
 * Boots a board with `flash` (image, bundle and settings from its first byte on) and gives its ticks.
 * Throws an Error if it has no first
 * tick within 3 s.
 */
export function runOnBoard(
  flash: Uint8Array,
  symbols: BoardFiles['symbols'],
  pins: BoardPins,
  source: BoardSource,
  options: RunOptions = {},
): BoardRun {
  const feed: FeedOptions = {
    levelIsSwitch: options.levelIsSwitch ?? true,
    feedbackFromCodes: options.feedbackFromCodes ?? false,
  };
  const board = new Board({ flash, symbols, pins }, options);
  board.analogue.noise = options.noise ?? 0;
  feedCodes(board, source.at(0), feed);
  board.wantsDigest = true;
  board.powerOn();
  if (!board.runUntil(() => board.firstTickNanos !== undefined, FIRST_TICK_MS_MAX, 0.1)) {
    throw new Error(`the board has no tick within 3 s; it says: ${board.line.text.trim()}`);
  }
  return { boot: readBoot(board), board, ticks: () => runTicks(board, source, feed) };
}

function* runTicks(board: Board, source: BoardSource, feed: FeedOptions): Generator<BoardTick> {
  for (let index = 0; index < source.ticks; index++) {
    board.runTicks(1);
    const codes = board.codes(makeCodesRecord());
    yield {
      index,
      nowMs: codes.nowMs,
      codes,
      output: board.peek('last_output'),
      digest: board.peek('last_digest'),
    };
    if (index + 1 < source.ticks) feedCodes(board, source.at(index + 1), feed);
  }
}
