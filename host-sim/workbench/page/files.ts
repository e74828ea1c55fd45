/**
 * Traces and settings files that are dropped on the page or chosen: their bytes go to the worker, which
 * reads them with the readers of the command line. What is wrong with a file is said in the same words.
 */
import type { Opened, OpenedTrace } from '../opened.js';
import { DEMOS, type DemoName } from '../../trace/demo.js';
import { button, byId, element } from './dom.js';
import { TroubleError, type Engine } from './engine.js';
import type { Model, OpenTrace } from './model.js';

export class Files {
  private lastId = 0;
  private readonly buttons = new Map<number, HTMLButtonElement>();
  private readonly closing = button('Close this trace', () => this.close(), { id: 'close-trace' });

  constructor(
    private readonly model: Model,
    private readonly engine: Engine,
    private readonly opened: Opened,
    private readonly address: (path: string) => string,
  ) {
    const chooser = byId('files') as HTMLInputElement;
    for (const id of ['open', 'open-first'])
      byId(id).addEventListener('click', () => chooser.click());
    chooser.addEventListener('change', () => {
      void this.take([...(chooser.files ?? [])]);
      chooser.value = '';
    });
    this.listenToDrops();
    byId('demos').replaceChildren(
      ...DEMOS.map(({ name, title, line }) =>
        button(title, () => void this.openDemo(name), { title: line }),
      ),
    );
    byId('traces').append(this.closing);
    model.on(['traces', 'runs'], () => this.showTraces());
  }

  /** Opens what the command line named. */
  async openNamed(): Promise<void> {
    for (const [index, trace] of this.opened.traces.entries()) await this.openOne(trace, index);
    const [first] = this.model.traces;
    if (first !== undefined && this.model.current !== first) this.model.show(first);
  }

  /** Says what went wrong; `keep` leaves what was said before. */
  say(error: unknown): void {
    const text =
      error instanceof TroubleError
        ? `${error.message} [${error.code}]`
        : `smirr itself failed (${String(error)})`;
    const close = button('Close', () => paragraph.remove(), { 'aria-label': 'close this message' });
    const paragraph = element('p', {}, text, ' ', close);
    byId('messages').append(paragraph);
  }

  /** Takes a trace that the page made of what it saw. */
  async adopt(opened: Omit<OpenTrace, 'id'>): Promise<void> {
    const id = ++this.lastId;
    await this.engine.ask('adopt', { id, trace: opened.trace });
    this.model.addTrace({ ...opened, id });
  }

  private async openOne({ name, demo }: OpenedTrace, index: number): Promise<void> {
    if (demo !== undefined) return this.openDemo(demo as DemoName);
    const response = await fetch(this.address(`/trace/${index}`));
    if (!response.ok) {
      return this.say(
        new TroubleError({ code: 'E-FILE-02', sentence: `${name} cannot be read any more` }),
      );
    }
    await this.openTrace(name, await response.arrayBuffer());
  }

  private async openDemo(name: DemoName): Promise<void> {
    const already = this.model.traces.find((each) => each.name === name);
    if (already !== undefined) return this.model.show(already);
    const id = ++this.lastId;
    try {
      this.model.addTrace({ id, name, trace: await this.engine.ask('demo', { id, name }) });
    } catch (error) {
      this.say(error);
    }
  }

  private async openTrace(name: string, bytes: ArrayBuffer): Promise<void> {
    const id = ++this.lastId;
    const { reading } = this.opened;
    try {
      const trace = await this.engine.ask('parse', { id, name, bytes, reading }, [bytes]);
      performance.mark('smirr-parsed');
      this.model.addTrace({ id, name, trace });
    } catch (error) {
      this.say(error);
    }
  }

  private async take(files: readonly File[]): Promise<void> {
    byId('messages').replaceChildren();
    for (const file of files) {
      const bytes = await file.arrayBuffer();
      if (isSettings(bytes)) await this.openSettings(file.name, bytes);
      else await this.openTrace(file.name, bytes);
    }
  }

  private async openSettings(name: string, bytes: ArrayBuffer): Promise<void> {
    try {
      const { settings } = await this.engine.ask('settings', { name, bytes });
      this.model.base = settings;
      this.model.baseName = name;
      this.model.choose({ ...this.model.chosen, a: settings }, 'a');
    } catch (error) {
      this.say(error);
    }
  }

  private listenToDrops(): void {
    const sign = byId('drop');
    const holdsFiles = (event: DragEvent) => event.dataTransfer?.types.includes('Files') === true;
    document.addEventListener('dragover', (event) => {
      if (!holdsFiles(event)) return;
      event.preventDefault();
      sign.hidden = false;
    });
    document.addEventListener('dragleave', (event) => {
      if (event.relatedTarget === null) sign.hidden = true;
    });
    document.addEventListener('drop', (event) => {
      sign.hidden = true;
      if (!holdsFiles(event)) return;
      event.preventDefault();
      void this.take([...(event.dataTransfer?.files ?? [])]);
    });
  }

  private showTraces(): void {
    const { traces, current } = this.model;
    byId('welcome').hidden = current !== undefined;
    byId('bench').hidden = current === undefined;
    byId('export').hidden = current === undefined;
    this.closing.hidden = current === undefined || current.isLive === true;
    for (const [id, made] of this.buttons) {
      if (traces.some((each) => each.id === id)) continue;
      made.remove();
      this.buttons.delete(id);
    }
    for (const each of traces) {
      this.buttonOf(each).setAttribute('aria-current', String(each === current));
    }
  }

  /** Made once: a button that is replaced while it is pressed loses the click, and the focus. */
  private buttonOf(opened: OpenTrace): HTMLButtonElement {
    const { id, name } = opened;
    const known = this.buttons.get(id);
    if (known !== undefined) return known;
    const made = button(name, () => this.model.show(opened), { title: name });
    this.buttons.set(id, made);
    this.closing.before(made);
    return made;
  }

  private close(): void {
    const { current } = this.model;
    if (current === undefined) return;
    void this.engine.ask('close', { id: current.id });
    this.model.closeTrace(current.id);
    const { id } = this.model.current ?? {};
    const next = id === undefined ? byId('open-first') : this.buttons.get(id);
    next?.focus();
  }
}

/** A settings file says its kind in its first lines; a trace cannot. */
function isSettings(bytes: ArrayBuffer): boolean {
  const head = new TextDecoder().decode(bytes.slice(0, 4096));
  return /(?:^|[{,])[ \t]*["']?kind["']?[ \t]*:/mu.test(head);
}
