/**
 * The one script of the workbench: in the page it builds the page, in the worker it works. It asks its
 * own server and nobody else; the token it needs stands in its own address.
 */
import { shown } from '../../report/format.js';
import { replayPage } from '../../report/page.js';
import type { Opened } from '../opened.js';
import { byId, element, saveFile } from './dom.js';
import { showDevice } from './device-panel.js';
import { Engine } from './engine.js';
import { Files } from './files.js';
import { showTuning } from './front-panel.js';
import { listenToGestures, NO_RUN_YET, say } from './gestures.js';
import { showLive } from './live-view.js';
import { listenToLook } from './look-menu.js';
import { Model } from './model.js';
import { Picture } from './picture.js';
import { Replayer } from './replayer.js';
import { showSettings } from './settings-form.js';
import { showSummaries } from './summary.js';
import { showWhy } from './why-panel.js';
import { work } from './worker.js';

/** The page's own address has the token; so has everything that is asked for. */
function address(path: string): string {
  const token = new URLSearchParams(location.search).get('token') ?? '';
  return `${path}?token=${encodeURIComponent(token)}`;
}

async function start(): Promise<void> {
  const response = await fetch(address('/opened.json'));
  const opened = (await response.json()) as Opened;
  const model = new Model();
  model.base = opened.settings;
  model.baseName = opened.settingsName;
  model.chosen = { a: opened.settings, b: undefined };
  const engine = new Engine(address('/page.js'));
  const files = new Files(model, engine, opened, address);
  const onTrouble = (error: unknown) => files.say(error);
  const replayer = new Replayer(engine, model, opened, onTrouble);
  showSummaries(model);
  showWork(model, replayer);
  showSettings(model);
  listenToGestures(model, new Picture(model));
  showWhy(model, engine, replayer, onTrouble);
  showTuning(model, opened, address('/page.js'));
  listenToLook(model);
  showLoop(model, opened);
  showPages(opened);
  showDevice(model);
  showLive(model, files, opened.device, address);
  byId('export').addEventListener('click', () => exportPage(model));
  model.tell('traces');
  document.documentElement.dataset.ready = 'yes';
  engine.begin();
  await files.openNamed();
}

/** While a trace is driven, numbers and picture are those of before: they say so. */
function showWork(model: Model, replayer: Replayer): void {
  model.on(['work'], () => byId('bench').setAttribute('aria-busy', String(replayer.isAtWork)));
}

/** With a model: whether it closes the loop, or the temperatures stay the recorded ones. */
function showLoop(model: Model, { model: closing }: Opened): void {
  if (closing === undefined) return;
  byId('loop').hidden = false;
  byId('loop-car').textContent = shown(closing.carName);
  const box = byId('loop-closed') as HTMLInputElement;
  box.checked = model.isClosed;
  box.addEventListener('change', () => {
    model.isClosed = box.checked;
    model.tell('loop');
  });
}

/** Evidence and plans, each in a tab of its own. */
function showPages({ pages = [] }: Opened): void {
  if (pages.length === 0) return;
  const links = pages.map(({ title, name }, index) =>
    element(
      'a',
      { href: address(`/page/${index}`), target: '_blank', rel: 'noopener' },
      shown(title),
      ' (',
      shown(name),
      ')',
    ),
  );
  byId('pages').append(...links);
  byId('pages').hidden = false;
}

/** The view as one page that needs nothing else: the replay page of the runs that are shown. */
function exportPage({ runs }: Model): void {
  const { a, b } = runs;
  if (a === undefined) return say(NO_RUN_YET);
  const stem = a.trace.name.replace(/\.[^.]*$/u, '').replace(/[^\p{L}\p{N}._-]+/gu, '-');
  saveFile(`${stem}.html`, 'text/html', replayPage(a, b));
}

if (typeof document === 'undefined') work();
else void start();
