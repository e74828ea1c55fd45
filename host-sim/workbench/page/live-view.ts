/**
 * The live view of a controller: looks come as lines of a stream from this page's own server, and the
 * same strips show the last of them. "Hold" and "Record" make a trace of looks, which the host's core
 * replays; what the controller did stands beside it. The page only looks: nothing here is ever sent to
 * the controller.
 */
import { clock, decimal, shown } from '../../report/format.js';
import { wordsFor } from '../../report/words.js';
import type { Look } from '../../link/look-record.js';
import { runOfLooks, traceOfLooks, type LiveNames } from '../live-run.js';
import type { LiveLine, OpenedDevice } from '../opened.js';
import { byId, button } from './dom.js';
import { TroubleError } from './engine.js';
import { showRecorded } from './recorded.js';
import type { Files } from './files.js';
import type { Model, OpenTrace } from './model.js';

/** What the strips show of the past while they follow. */
const WINDOW_MS = 120_000;
/** A recording ends here by itself: an hour and a half. */
const RECORD_MS_MAX = 5_400_000;
const DRAW_EVERY_MS = 400;

/** Shows the bar and follows the stream at `address`. */
export function showLive(
  model: Model,
  files: Files,
  device: OpenedDevice | undefined,
  address: (path: string) => string,
): void {
  if (device === undefined) return;
  const view = new LiveView(model, files, device);
  showRecorded(files, address('/live/recorded'));
  void view.follow(address('/live'));
}

class LiveView {
  private readonly names: LiveNames;
  private readonly live: OpenTrace;
  private readonly now = byId('live-now');
  private readonly watch = button('Show live', () => this.showOrNot(), { id: 'live-show' });
  private readonly hold = button('Hold this', () => void this.holdNow(), { id: 'live-hold' });
  private readonly record = button('Record', () => void this.recordOrStop(), { id: 'live-record' });
  /** Of the last two minutes. */
  private looks: Look[] = [];
  private recorded: Look[] | undefined;
  /** Until a trace is opened, and again when it is asked for. */
  private isWanted = true;
  private count = 0;
  private drawnMs = 0;
  /** The timer of the next picture; 0 is none. */
  private drawing = 0;
  private rateFromMs = performance.now();
  private rate = 0;

  constructor(
    private readonly model: Model,
    private readonly files: Files,
    { port, board, settings }: OpenedDevice,
  ) {
    const settingsName = `settings of the controller on ${port}`;
    this.names = { name: `live, ${port}`, settings, settingsName };
    this.live = { id: 0, name: this.names.name, trace: EMPTY, isLive: true };
    byId('live').hidden = false;
    byId('live-port').textContent = `${shown(board)} on ${shown(port)}`;
    byId('live-buttons').append(this.watch, this.hold, this.record);
    model.on(['traces'], () => {
      if (model.current !== undefined && !this.isShown) this.isWanted = false;
      this.refresh();
    });
    this.refresh();
  }

  /** Reads the stream to its end. */
  async follow(address: string): Promise<void> {
    try {
      const response = await fetch(address);
      if (!response.ok || response.body === null) throw new Error(`answer ${response.status}`);
      const reader = response.body.getReader();
      const decoder = new TextDecoder();
      let rest = '';
      for (;;) {
        const { done, value } = await reader.read();
        if (done) break;
        const lines = (rest + decoder.decode(value, { stream: true })).split('\n');
        rest = lines.pop() ?? '';
        for (const line of lines) this.take(JSON.parse(line) as LiveLine);
      }
      this.end('The stream of looks has ended: smirr open was stopped, or its window was closed.');
    } catch (error) {
      this.end(`The live view has ended (${String(error)}).`);
    }
  }

  private get isShown(): boolean {
    return this.model.current?.isLive === true;
  }

  private refresh(): void {
    this.watch.setAttribute('aria-pressed', String(this.isShown));
    this.record.textContent = this.recorded === undefined ? 'Record' : 'Stop and open';
    this.hold.disabled = this.looks.length < 2;
  }

  private take(line: LiveLine): void {
    if ('trouble' in line) {
      this.files.say(new TroubleError(line.trouble));
      return this.end('The connection has ended.');
    }
    const { look } = line;
    const last = this.looks[this.looks.length - 1] as Look | undefined;
    // A controller that was reset begins its time anew, and so does what is shown of it.
    if (last !== undefined && look.nowMs <= last.nowMs) this.looks = [];
    this.looks.push(look);
    while (look.nowMs - this.looks[0].nowMs > WINDOW_MS) this.looks.shift();
    this.recorded?.push(look);
    this.count += 1;
    if (this.recorded !== undefined && lengthMs(this.recorded) > RECORD_MS_MAX) {
      void this.recordOrStop();
    }
    if (this.drawing !== 0) return;
    const waitMs = this.drawnMs + DRAW_EVERY_MS - performance.now();
    if (waitMs <= 0) this.drawLast();
    // Whatever comes until then, the last of it is drawn, also if nothing comes after it.
    else this.drawing = window.setTimeout(() => this.drawLast(), waitMs);
  }

  private drawLast(): void {
    window.clearTimeout(this.drawing);
    this.drawing = 0;
    this.drawnMs = performance.now();
    this.measureRate(this.drawnMs);
    const last = this.looks[this.looks.length - 1] as Look | undefined;
    if (last !== undefined) this.draw(last);
  }

  private measureRate(nowMs: number): void {
    if (nowMs - this.rateFromMs < 1000) return;
    this.rate = (1000 * this.count) / (nowMs - this.rateFromMs);
    [this.rateFromMs, this.count] = [nowMs, 0];
  }

  private draw(look: Look): void {
    this.now.textContent = nowText(look, this.rate, this.recorded);
    this.hold.disabled = this.looks.length < 2;
    if (!this.isWanted || this.looks.length < 2) return;
    const trace = traceOfLooks(this.looks, this.names.name);
    this.model.showLive({ ...this.live, trace }, runOfLooks(this.looks, trace, this.names));
  }

  private showOrNot(): void {
    const [first] = this.model.traces;
    if (this.isShown && first !== undefined) return this.model.show(first);
    this.isWanted = true;
    this.drawLast();
  }

  private async holdNow(): Promise<void> {
    await this.open([...this.looks], 'held');
  }

  private async recordOrStop(): Promise<void> {
    const { recorded } = this;
    this.recorded = recorded === undefined ? [] : undefined;
    this.refresh();
    if (recorded !== undefined && recorded.length > 1) await this.open(recorded, 'recorded');
  }

  /** Looks become a trace of this page: the host's core replays it, from the water that there was. */
  private async open(looks: readonly Look[], how: string): Promise<void> {
    const usable = sinceReset(looks);
    const name = `${how} at ${clock(usable[0].nowMs)}, ${this.names.name.slice('live, '.length)}`;
    const trace = traceOfLooks(usable, name);
    const device = runOfLooks(usable, trace, { ...this.names, name });
    await this.files.adopt({ name, trace, device, tankUl: device.tankStartUl });
    this.refresh();
  }

  private end(sentence: string): void {
    this.drawLast();
    this.now.textContent = sentence;
    this.record.disabled = this.recorded === undefined;
  }
}

const EMPTY = traceOfNothing();

function traceOfNothing() {
  return {
    ...{ name: '', timeMs: new Int32Array(1), columns: {}, leadingRows: 0, timeRepairs: 0 },
    ...{ rows: { read: 0, used: 0, repaired: 0, refused: 0 }, medianMs: 20, sources: [] },
    reference: { hpa: 1013, source: 'recorded-gauge' as const },
  };
}

function lengthMs(looks: readonly Look[]): number {
  return looks.length === 0 ? 0 : looks[looks.length - 1].nowMs - looks[0].nowMs;
}

/** The looks since the controller's time last began anew. */
function sinceReset(looks: readonly Look[]): readonly Look[] {
  const from = looks.findLastIndex(
    (look, index) => index > 0 && look.nowMs <= looks[index - 1].nowMs,
  );
  return looks.slice(Math.max(0, from));
}

function nowText(look: Look, rate: number, recorded: readonly Look[] | undefined): string {
  const { reason, cutoffs } = look;
  const parts = [
    `${clock(look.nowMs, 1)} since its start`,
    `${look.mode}, ${look.armed ? 'armed' : 'disarmed'}`,
    look.pump ? 'sprays' : 'does not spray',
    `${reason}: ${wordsFor(reason).because}`,
    cutoffs.length === 0 ? 'no cutoff' : `cutoffs ${cutoffs.join(', ')}`,
    `duty ${decimal(look.dutyPercent, 1)} %`,
    `tank ${decimal(look.tankL, 2)} L${look.tankKnown ? '' : ', unknown'}`,
    `lamp ${look.lamp}`,
    `${decimal(rate, 0)} looks/s`,
    ...(recorded === undefined ? [] : [`recording ${clock(lengthMs(recorded))}`]),
  ];
  return parts.join(' · ');
}
