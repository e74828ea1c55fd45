/**
 * Runs a board through a source of codes, a tick every 20 ms, and gives tick by tick what the chip's
 * core saw and decided. It boots the board from a power-on with the source's first codes on its pins.
 * The digest of the chip's state takes longer than a tick, so it is asked for now and then; from the last
 * one on the ticks can be run again, each with its digest.
 */
import { makeCodesRecord, type Codes } from '../../controller/tick/1-calibrate.js';
import { Board, type BoardOptions, type Snapshot } from './board.js';
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
  /** `smirr.digest` after the tick; undefined where it was not asked for. */
  readonly digest: number | undefined;
}

export interface BoardRun {
  /** What the shim told the core before its first tick. */
  readonly boot: BoardBoot;
  readonly board: Board;
  /**
   * Runs on as it is read; every so many ticks, and the last one, come with a digest. Throws a
   * BoardFault if the chip does what silicon would not.
   */
  ticks(): Generator<BoardTick>;
  /**
   * Goes back to the last digest after which `ticks` was read on, and gives the ticks from there up to
   * the one read last, with the codes they had then, each with its digest.
   */
  again(): Generator<BoardTick>;
}

export interface RunOptions extends BoardOptions, Partial<FeedOptions> {
  /** Deviation of the converter's noise, in its steps; 0 if absent. */
  readonly noise?: number;
}

/** A digest is asked for this often, ticks. */
const DIGEST_EVERY = 100;

/** The first tick comes within 600 ms; a board that has none after this has failed. */
const FIRST_TICK_MS_MAX = 3000;

/**
 * Boots a board with `flash` (image, bundle and settings from its first byte on) and gives its ticks.
 * Throws an Error if it has no first tick within 3 s.
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
  board.powerOn();
  if (!board.runUntil(() => board.isInTick, FIRST_TICK_MS_MAX, 0.1)) {
    throw new Error(`the board has no tick within 3 s; it says: ${board.line.text.trim()}`);
  }
  const run = new Run(board, source, feed);
  return {
    boot: readBoot(board),
    board,
    ticks: () => run.ticks(),
    again: () => run.again(),
  };
}

class Run {
  /** Where the last digest that was read on was, and what the core saw since. */
  private mark: Snapshot;
  private markIndex = 0;
  private seen: Codes[] = [];

  constructor(
    private readonly board: Board,
    private readonly source: BoardSource,
    private readonly feed: FeedOptions,
  ) {
    this.mark = board.snapshot();
  }

  *ticks(): Generator<BoardTick> {
    const { board, source } = this;
    for (let index = 0; index < source.ticks; index++) {
      const isAsked = (index + 1) % DIGEST_EVERY === 0 || index + 1 === source.ticks;
      const tick = this.tick(index, isAsked);
      this.seen.push(tick.codes);
      yield tick;
      if (index + 1 < source.ticks) feedCodes(board, source.at(index + 1), this.feed);
      if (isAsked) this.setMark(index + 1);
    }
  }

  *again(): Generator<BoardTick> {
    const { board, seen, markIndex } = this;
    this.mark.restore();
    let at = 0;
    board.onTickStart = () => board.setCodes(seen[at]);
    // The first one may have begun when the mark was set.
    if (board.isInTick) board.setCodes(seen[0]);
    for (; at < seen.length; at++) yield this.tick(markIndex + at, true);
    board.onTickStart = undefined;
  }

  private setMark(index: number): void {
    this.mark = this.board.snapshot();
    this.markIndex = index;
    this.seen = [];
  }

  private tick(index: number, isAsked: boolean): BoardTick {
    const { board } = this;
    board.poke('digest_wanted', isAsked ? 1 : 0);
    board.runTicks(1);
    const codes = board.codes(makeCodesRecord());
    const output = board.peek('last_output');
    const digest = isAsked ? board.peek('last_digest') : undefined;
    return { index, nowMs: codes.nowMs, codes, output, digest };
  }
}
