/**
 * "Tune": two settings are varied over ranges that the form proposes, a worker of its own runs every
 * combination over the trace, and the picture of water against heat fills while it does. A click on a
 * point, or the arrow keys and Enter, loads its two values into the settings form, where they can be
 * undone. What was searched with other settings or on another trace is marked so.
 */
import type { SettingName, Settings } from '../../../controller/settings.js';
import { decimal } from '../../report/format.js';
import { rowOf } from '../form.js';
import type { FrontPoint } from '../front-search.js';
import type { Opened } from '../opened.js';
import { button, byId, element, table } from './dom.js';
import { Engine, TroubleError } from './engine.js';
import { FrontPicture } from './front-picture.js';
import {
  byWater,
  cellsOf,
  HINT,
  LOOP,
  MEASURED,
  settingsOf,
  wordsOf,
  type Search,
} from './front-words.js';
import type { Model } from './model.js';
import { RangeFields } from './range-fields.js';

/** Longest piece of work between two pictures. */
const PIECE_MS = 120;

/** Builds the panel. `script` is the address of the page's own script. */
export function showTuning(model: Model, opened: Opened, script: string): void {
  const panel = new TuningPanel(model, opened, script);
  model.on(['traces', 'settings'], () => panel.refresh());
}

class TuningPanel {
  private readonly fields: readonly RangeFields[];
  private readonly target = element('input', { type: 'number', step: '0.5', id: 'tune-target' });
  private readonly start = button('Search', () => void this.searchOrStop(), { id: 'tune-start' });
  private readonly say = element('p', { class: 'small', role: 'status', id: 'tune-say' });
  private readonly picture = element('div', {
    ...{ id: 'tune-picture', tabindex: '0', role: 'slider', hidden: '' },
    ...{ 'aria-label': 'candidates by water', 'aria-valuemin': '1' },
  });
  private readonly words = element('p', { id: 'tune-words' });
  private readonly results = element('div');
  private readonly drawn = new FrontPicture(this.picture);
  private engine: Engine | undefined;
  private search: Search | undefined;
  private running = 0;

  constructor(
    private readonly model: Model,
    private readonly opened: Opened,
    private readonly script: string,
  ) {
    this.fields = (['tempOn', 'rest'] as const).map(
      (name: SettingName, index) => new RangeFields(index + 1, name, () => model.edited),
    );
    const target = element(
      'p',
      { class: 'row' },
      element('label', { for: 'tune-target' }, 'heat counts above'),
      this.target,
      element('span', { class: 'unit' }, '°C'),
    );
    byId('tune-body').replaceChildren(
      element('p', { class: 'small' }, LOOP),
      ...this.fields.map(({ root }) => root),
      element('div', { class: 'row' }, target, this.start),
      this.say,
      this.picture,
      this.words,
      this.results,
    );
    this.target.value = String(model.base.tempOnDc / 10);
    this.listen();
  }

  /** After a change of trace or settings: what is shown may be of others. */
  refresh(): void {
    const { search, model } = this;
    this.start.disabled = model.current === undefined;
    if (search !== undefined && search.traceId !== model.current?.id) this.clear();
    else if (search !== undefined) this.show(search);
    if (this.search === undefined) for (const field of this.fields) field.follow();
  }

  private clear(): void {
    this.running = 0;
    this.search = undefined;
    this.picture.hidden = true;
    this.picture.replaceChildren();
    this.words.textContent = '';
    this.say.textContent = '';
    this.results.replaceChildren();
    this.start.textContent = 'Search';
  }

  private async searchOrStop(): Promise<void> {
    if (this.running !== 0) {
      this.running = 0;
      this.start.textContent = 'Search';
      return;
    }
    try {
      await this.run();
    } catch (error) {
      this.running = 0;
      const isKnown = error instanceof TroubleError;
      this.say.textContent = isKnown ? `${error.message} [${error.code}]` : String(error);
    } finally {
      if (this.running === 0) this.start.textContent = 'Search';
    }
  }

  private async run(): Promise<void> {
    const { model, opened } = this;
    const { current, edited } = model;
    if (current === undefined) return;
    this.clear();
    const number = (this.running = performance.now());
    this.start.textContent = 'Stop';
    const ranges = this.fields.map((field) => field.range());
    const { between, tankUl } = opened;
    this.engine ??= new Engine(this.script);
    const plan = await this.engine.ask('front', {
      traces: [current.trace],
      today: edited,
      ranges,
      targetDc: Math.round(Number(this.target.value.replace(',', '.')) * 10),
      ...(between !== undefined && { between }),
      ...(tankUl !== undefined && { tankUl: Math.min(tankUl, edited.tankUl) }),
    });
    const search: Search = {
      ...{ traceId: current.id, today: edited, ranges, plan, points: [] },
      ...{ front: [], picks: [], missing: [], chosen: undefined },
    };
    while (this.running === number) {
      const piece = await this.engine.ask('front-more', { forMs: PIECE_MS });
      if (this.running !== number) break;
      search.points.push(...piece.points);
      search.front = piece.front;
      this.search = search;
      if (piece.end !== undefined) {
        this.running = 0;
        search.picks = piece.end.picks;
        search.missing = piece.end.missing;
        this.start.textContent = 'Search';
      }
      this.show(search);
    }
  }

  // ---- what is shown

  private show(search: Search): void {
    const { points, plan, front } = search;
    this.picture.hidden = false;
    const isWhole = search.picks.length > 0;
    const refused =
      plan.refused === 0 ? '' : `; ${plan.refused} never tried, against a cross-check`;
    this.say.textContent =
      `${decimal(points.length, 0)} of ${isWhole ? '' : 'at most '}${decimal(isWhole ? points.length : plan.runs, 0)} runs, ` +
      `${front.length} on the front${refused}.` +
      (this.isStale(search) ? ' Other settings have changed since: search again.' : '');
    this.drawn.draw(search);
    this.sayChosen(search);
    this.results.replaceChildren(...(isWhole ? this.picks(search) : []));
  }

  /** Whether a setting that was not varied is another now. */
  private isStale({ today, ranges }: Search): boolean {
    const varied = ranges.map(({ name }) => rowOf(name).field);
    const fields = Object.keys(today) as (keyof Settings)[];
    const { edited } = this.model;
    return fields.some((field) => !varied.includes(field) && today[field] !== edited[field]);
  }

  private sayChosen(search: Search): void {
    const { points, chosen } = search;
    const sorted = byWater(points);
    this.picture.setAttribute('aria-valuemax', String(points.length));
    this.picture.setAttribute(
      'aria-valuenow',
      String(1 + Math.max(0, chosen === undefined ? 0 : sorted.indexOf(chosen))),
    );
    const text = chosen === undefined ? HINT : wordsOf(search, chosen);
    this.picture.setAttribute('aria-valuetext', text);
    this.words.textContent = text;
  }

  private picks(search: Search): HTMLElement[] {
    const { picks, missing, points } = search;
    const rows = picks.flatMap((pick) => {
      const point = points.find(({ n }) => n === pick.n);
      if (point === undefined) return [];
      const load = button('Load', () => this.load(search, point), {
        'aria-label': `load ${pick.name}`,
      });
      const name = `${pick.letter}, ${pick.name}`;
      return [[name, pick.promise, settingsOf(search, point), ...cellsOf(search, point), load]];
    });
    return [
      table(
        'picks',
        [
          { head: 'pick' },
          { head: 'promise' },
          { head: 'settings' },
          ...MEASURED.map((head) => ({ head, number: true })),
          { head: '' },
        ],
        rows,
      ),
      ...missing.map((sentence) => element('p', { class: 'small' }, sentence)),
    ];
  }

  // ---- what people do

  private listen(): void {
    this.picture.addEventListener('click', ({ clientX, clientY }) => {
      const point = this.drawn.at(clientX, clientY);
      if (point !== undefined && this.search !== undefined) this.load(this.search, point);
    });
    this.picture.addEventListener('keydown', (event) => {
      const { search } = this;
      if (search === undefined || event.altKey || event.ctrlKey || event.metaKey) return;
      if (!this.actOnKey(search, event.key)) return;
      event.preventDefault();
    });
  }

  private actOnKey(search: Search, key: string): boolean {
    const sorted = byWater(search.points);
    const at = search.chosen === undefined ? -1 : sorted.indexOf(search.chosen);
    if (key === 'Enter' || key === ' ') {
      if (search.chosen !== undefined) this.load(search, search.chosen);
      return true;
    }
    const to = {
      ...{ ArrowRight: at + 1, ArrowUp: at + 1, ArrowLeft: at - 1, ArrowDown: at - 1 },
      ...{ Home: 0, End: sorted.length - 1 },
    }[key];
    if (to === undefined) return false;
    search.chosen = sorted[Math.max(0, Math.min(sorted.length - 1, to))];
    this.drawn.draw(search);
    this.sayChosen(search);
    return true;
  }

  /** Puts a point's two values into the settings form. */
  private load(search: Search, point: FrontPoint): void {
    const { model } = this;
    search.chosen = point;
    const settings = { ...model.edited };
    search.ranges.forEach(({ name }, index) => {
      settings[rowOf(name).field] = point.values[index];
    });
    model.choose({ ...model.chosen, [model.side]: settings });
  }
}
