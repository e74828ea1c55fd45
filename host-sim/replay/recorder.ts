/**
 * Watches the core tick by tick and keeps what a summary and a page need: spans of equal reason,
 * sprays, cutoffs, events and sums. Only changes cost anything: a tick that is like the last one
 * is a few comparisons. Times are ms since the first tick.
 */
import type { Core } from '../../controller/core.js';
import { EVENT_RING, EVENTS, type EventRow } from '../../controller/events.js';
import { KIND_WORDS, REASONS } from '../../controller/reasons.js';
import type { Readings } from '../../controller/readings.js';
import { CUTOFFS } from '../../controller/tick/5-cutoffs.js';
import type { CutoffSpan, RunEvent, Span, Spray, SprayKind } from './run.js';

const TICK_MS = 20;

/** Colder than any reading. */
const COLDEST_DC = -10000;

export class Recorder {
  readonly spans: Span[] = [];
  readonly sprays: Spray[] = [];
  readonly cutoffs: CutoffSpan[] = [];
  readonly events: RunEvent[] = [];
  readonly tank: [atMs: number, ul: number][] = [];
  readonly reasonTicks: number[] = REASONS.map(() => 0);
  sprayTicks = 0;
  aboveOnTicks = 0;
  chargeDcMax = COLDEST_DC;

  private readonly core: Core;
  private readonly tempOnDc: number;
  /** Reason, demand and cutoffs of the last tick in one word, so that one comparison finds news. */
  private seen = -1;
  private reason = -1;
  private active = 0;
  private demand = 0;
  private fromMs = 0;
  private wasSpraying = false;
  private sprayFromMs = 0;
  private sprayKind: SprayKind = 'automatic';
  private sprayChargeDc = 0;
  private eventsSeen: number;
  private readonly cutoffFromMs: number[] = CUTOFFS.map(() => -1);

  constructor(core: Core) {
    this.core = core;
    this.tempOnDc = core.settings.tempOnDc;
    this.eventsSeen = core.state.events.total;
    this.tank.push([0, core.state.account.tankUl]);
  }

  /** Sees the core as the tick at `nowMs` left it. */
  see(nowMs: number, readings: Readings): void {
    const state = this.core.state;
    const charge = readings.chargeDc;
    if (charge >= this.tempOnDc) this.aboveOnTicks++;
    if (charge > this.chargeDcMax) this.chargeDcMax = charge;
    const now = (state.cutoffs.active << 6) | (state.demand.demand << 5) | state.output.reason;
    if (now !== this.seen) {
      this.seen = now;
      this.turn(nowMs, charge);
    }
    if (state.events.total !== this.eventsSeen) this.takeEvents(nowMs);
  }

  /** Closes what is still open; `endMs` is where the tick after the last one would be. */
  finish(endMs: number): void {
    if (this.reason >= 0) this.closeSpan(endMs);
    if (this.wasSpraying) this.closeSpray(endMs);
    this.cutoffFromMs.forEach((_, bit) => this.closeCutoff(bit, endMs));
    this.cutoffs.sort((a, b) => a.fromMs - b.fromMs || a.bit - b.bit);
    this.tank.push([endMs, this.core.state.account.tankUl]);
  }

  private turn(nowMs: number, chargeDc: number): void {
    const state = this.core.state;
    if (this.reason >= 0) this.closeSpan(nowMs);
    this.fromMs = nowMs;
    this.reason = state.output.reason;
    this.demand = state.demand.demand;
    this.turnCutoffs(nowMs, state.cutoffs.active);
    const sprays = state.output.pump === 1;
    if (sprays === this.wasSpraying) return;
    this.wasSpraying = sprays;
    if (!sprays) {
      this.closeSpray(nowMs);
      return;
    }
    this.sprayFromMs = nowMs;
    this.sprayKind = KIND_WORDS[state.account.kind] as SprayKind;
    this.sprayChargeDc = chargeDc;
    // The tick that begins a spray has already been charged for itself.
    this.tank.push([nowMs, state.account.tankUl]);
  }

  private closeSpan(toMs: number): void {
    this.spans.push({
      fromMs: this.fromMs,
      toMs,
      reason: REASONS[this.reason].id,
      cutoffs: this.active,
      demand: this.demand === 1,
    });
    this.reasonTicks[this.reason] += (toMs - this.fromMs) / TICK_MS;
  }

  private closeSpray(toMs: number): void {
    this.sprayTicks += (toMs - this.sprayFromMs) / TICK_MS;
    this.sprays.push({
      fromMs: this.sprayFromMs,
      toMs,
      kind: this.sprayKind,
      chargeDcAtStart: this.sprayChargeDc,
    });
    this.tank.push([toMs, this.core.state.account.tankUl]);
  }

  private turnCutoffs(nowMs: number, active: number): void {
    const changed = active ^ this.active;
    this.active = active;
    if (changed === 0) return;
    for (let bit = 0; bit < CUTOFFS.length; bit++) {
      if ((changed & (1 << bit)) === 0) continue;
      if ((active & (1 << bit)) !== 0) this.cutoffFromMs[bit] = nowMs;
      else this.closeCutoff(bit, nowMs);
    }
  }

  private closeCutoff(bit: number, toMs: number): void {
    const fromMs = this.cutoffFromMs[bit];
    if (fromMs < 0) return;
    this.cutoffFromMs[bit] = -1;
    this.cutoffs.push({ id: CUTOFFS[bit].id, bit, fromMs, toMs });
  }

  private takeEvents(nowMs: number): void {
    const ring = this.core.state.events;
    const first = Math.max(this.eventsSeen, ring.total - EVENT_RING);
    for (let at = first; at < ring.total; at++) {
      const index = at & (EVENT_RING - 1);
      const row = EVENTS[ring.ids[index]];
      const sentence = row.sentence.replace('{}', wordOf(row, ring.details[index]));
      this.events.push({ atMs: nowMs, id: row.id, sentence });
    }
    this.eventsSeen = ring.total;
  }
}

/** The argument of an event in words. */
export function wordOf(row: EventRow, detail: number): string {
  switch (row.argument) {
    case 'cutoff':
      return CUTOFFS[detail].id;
    case 'kind':
      return KIND_WORDS[detail];
    case 'reason':
      return REASONS[detail].id;
    case 'ms':
      return `${detail / 1000} s`;
    case 'ul':
      return `${(detail / 1e6).toFixed(2)} L`;
    case 'hpa':
      return `${detail} hPa`;
    case 'none':
      return '';
  }
}
