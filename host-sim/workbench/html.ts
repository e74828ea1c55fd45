/**
 * The workbench page as the server hands it out: landmarks, headings and empty places that the script
 * fills. There is no word of a file in it. The token goes into the addresses of script and style, since
 * without it nothing is served.
 */
import { escaped } from '../report/format.js';

const CAUTION =
  "A simulation of the controller, not of a car. The event's regulations decide whether spraying is " +
  'allowed, with what liquid, how much may be carried and whether the driver may operate it. Water runs ' +
  'off onto the ground, freezes there, and must not reach hot exhaust or ignition.';

const KEYS: readonly (readonly [keys: string, what: string])[] = [
  ['← →', 'move the mark; with Shift by one tick of 20 ms, with Ctrl the view'],
  ['+ −', 'zoom in, zoom out; 0 shows the whole run'],
  ['s, S', 'next and previous spray'],
  ['c, C', 'next and previous cutoff'],
  ['h, H', 'next and previous moment that was hot enough, yet dry'],
  ['Home, End', 'first and last tick'],
];

function button(id: string, text: string, hint: string): string {
  return `<button type="button" id="${id}" title="${escaped(hint)}">${escaped(text)}</button>`;
}

const JUMPS = [
  button('previous-spray', '‹ spray', 'previous spray (S)'),
  button('next-spray', 'spray ›', 'next spray (s)'),
  button('previous-cutoff', '‹ cutoff', 'previous cutoff (C)'),
  button('next-cutoff', 'cutoff ›', 'next cutoff (c)'),
  button('previous-hot', '‹ hot but dry', 'previous moment above tempOn without a spray (H)'),
  button('next-hot', 'hot but dry ›', 'next moment above tempOn without a spray (h)'),
].join('');

const VIEW = [
  button('zoom-in', '+', 'zoom in (+)'),
  button('zoom-out', '−', 'zoom out (−)'),
  button('pan-back', '◂', 'earlier (Ctrl and ←)'),
  button('pan-on', '▸', 'later (Ctrl and →)'),
  button('whole', 'whole run', 'show the whole run (0)'),
].join('');

const LOOK = `<details id="look"><summary>Look</summary><div class="menu">
<label><input type="checkbox" id="large"/> large type</label>
<label><input type="checkbox" id="contrast"/> high contrast, for sunlight</label>
<label>light or dark <select id="scheme"><option value="">as the system</option><option>light</option><option>dark</option></select></label>
</div></details>`;

const WELCOME = `<section id="welcome"><h2>Open a recorded run</h2>
<p>Drop a trace anywhere on this page, or choose one: CSV as loggers write it, or OBD-II answers in a <code>candump -L</code> log. Nothing leaves this machine.</p>
<p class="row"><button type="button" class="main" id="open-first">Choose traces…</button></p>
<p>No recording at hand? These are invented:</p>
<p class="row" id="demos"></p></section>`;

/** The whole page. `token` is written as it is: the server made it of URL-safe characters. */
export function pageHtml(token: string): string {
  const keys = KEYS.map(([key, what]) => `<dt><kbd>${key}</kbd></dt><dd>${escaped(what)}</dd>`);
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8"/>
<meta name="viewport" content="width=device-width, initial-scale=1"/>
<title>smirr workbench</title>
<link rel="icon" href="data:,"/>
<link rel="stylesheet" href="/page.css?token=${token}"/>
<link rel="preload" as="fetch" crossorigin="anonymous" href="/opened.json?token=${token}"/>
<script defer src="/page.js?token=${token}"></script>
</head>
<body>
<a class="skip" href="#strips">to the picture</a>
<header>
<p class="brand"><b>smirr</b> workbench</p>
<nav id="traces" aria-label="open traces"></nav>
<div class="row" id="tools"><button type="button" id="open">Open traces…</button>
<button type="button" id="export" hidden>Save as a page</button>${LOOK}</div>
<input type="file" id="files" multiple hidden aria-label="traces or a settings file"/>
</header>
<main>
<div id="messages" role="alert"></div>
<nav id="pages" class="row" aria-label="pages that smirr wrote" hidden><span class="small">Pages beside the runs:</span></nav>
<section id="live" aria-label="live view of a controller" hidden><div class="row"><h2>Live</h2><span id="live-port"></span><span class="row" id="live-buttons"></span></div>
<p class="small" id="live-now">Waiting for the first look…</p>
<p id="live-recorded" role="status"></p>
<p class="small">This page only looks: it sends nothing that changes the controller.</p></section>
${WELCOME}
<div id="bench" hidden>
<section id="summary" aria-label="what happened">
<h1 id="name"></h1><p class="sub" id="sub"></p><ul class="notes" id="notes"></ul>
<p class="say" id="say" aria-live="polite"></p><p class="say" id="say-model"></p><p id="loop" hidden><label><input type="checkbox" id="loop-closed"/> temperatures by the model, car <span id="loop-car"></span>: water cools</label></p><dl class="numbers" id="numbers"></dl></section>
<div class="columns">
<div class="left">
<section aria-label="picture">
<div class="bar"><div class="row" role="group" aria-label="jump to">${JUMPS}</div><div class="row" role="group" aria-label="view">${VIEW}</div></div>
<div id="strips" tabindex="0" role="slider" aria-label="time of the mark" aria-valuemin="0" aria-valuemax="0" aria-valuenow="0"></div>
<p class="small" id="hint" role="status">Click anywhere in the picture, or move the mark with the arrow keys: below stands why it sprayed there, or why not.</p>
<details id="keys"><summary>Keys, while the picture has the focus</summary><dl class="keys">${keys.join('')}</dl></details>
</section>
<section id="why" aria-label="why not here"><h2 id="why-title">Why, at the mark</h2><div id="why-body" aria-live="polite"></div></section>
<section id="device" hidden><h2>Controller and host core</h2><div id="device-body"></div></section>
<section id="compare" hidden><h2>A and B</h2><div id="compare-body"></div></section>
<section aria-label="tune"><details id="tune"><summary>Tune: try two settings over a range, water against heat</summary><div id="tune-body"></div></details></section>
<section id="details"><details id="tables"><summary>Where the time went, and where the data came from</summary><div id="tables-body"></div></details></section>
</div>
<section class="right" id="settings" aria-label="settings"><h2>Settings</h2><div id="settings-bar"></div><div id="settings-form"></div></section>
</div></div>
</main>
<footer><p class="caution">${escaped(CAUTION)}</p></footer>
<div id="drop" hidden>Drop traces, or a settings file</div>
</body>
</html>
`;
}
