/**
 * The look of every page: tokens for light and dark, one style sheet, the page's frame. A page is
 * one file: nothing is loaded, no script runs, and the policy in its head says so. Tokens are kept
 * as data so that a test can compute the contrast of each pair that is used.
 */
import { escaped } from './format.js';

export const LIGHT = {
  paper: '#fcfbf8',
  ink: '#1c2126',
  soft: '#5c646c',
  hair: '#dcdad4',
  water: '#0b6fa4',
  'on-water': '#ffffff',
  mist: '#d3e8f4',
  heat: '#ac420a',
  press: '#5b4a8a',
  rev: '#333a40',
  cut: '#8c1d18',
  rest: '#eef1f2',
  off: '#f5f3ee',
} as const;

export const DARK: Readonly<Record<keyof typeof LIGHT, string>> = {
  paper: '#14181c',
  ink: '#e9ebec',
  soft: '#a3abb2',
  hair: '#2f363c',
  water: '#6cbbe6',
  'on-water': '#0c141a',
  mist: '#17384b',
  heat: '#f0925a',
  press: '#b3a3e6',
  rev: '#cfd4d8',
  cut: '#f0938c',
  rest: '#20272c',
  off: '#1a2025',
};

/** Every text token and the grounds it is set on: what the contrast test walks. */
export const TEXT_ON: readonly (readonly [keyof typeof LIGHT, keyof typeof LIGHT])[] = [
  ['ink', 'paper'],
  ['soft', 'paper'],
  ['heat', 'paper'],
  ['water', 'paper'],
  ['cut', 'paper'],
  ['ink', 'rest'],
  ['ink', 'off'],
  ['cut', 'off'],
  ['on-water', 'water'],
  ['ink', 'mist'],
  ['press', 'mist'],
  ['heat', 'mist'],
  ['rev', 'mist'],
];

/** A set of tokens as declarations of CSS. */
export function tokens(set: Readonly<Record<string, string>>): string {
  return Object.entries(set)
    .map(([name, value]) => `--${name}:${value}`)
    .join(';');
}

const SHEET = `
:root{color-scheme:light dark;${tokens(LIGHT)}}
@media (prefers-color-scheme:dark){:root{${tokens(DARK)}}}
*{box-sizing:border-box}
body{margin:0 auto;max-width:1280px;padding:30px 32px 48px;background:var(--paper);color:var(--ink);font:16px/1.45 "Source Sans 3","Segoe UI",system-ui,"Helvetica Neue",Arial,sans-serif;font-variant-numeric:tabular-nums lining-nums;-webkit-text-size-adjust:100%}
h1{font-size:28px;line-height:1.2;font-weight:650;letter-spacing:-.01em;margin:0 0 4px;overflow-wrap:anywhere}
h2{font-size:17px;line-height:1.3;font-weight:650;margin:0 0 6px}
h3{font-size:15px;font-weight:650;margin:18px 0 4px}
p{margin:0 0 10px;max-width:78ch}.small{color:var(--soft);font-size:14px;margin-top:8px}
a{color:var(--water)}
.sub{color:var(--soft);max-width:none;margin:0 0 16px;overflow-wrap:anywhere}
.say{font-size:19px;max-width:76ch;margin:0 0 18px}
b,strong{font-weight:650}
.notes{list-style:none;margin:0 0 18px;padding:0;max-width:80ch}
.notes li{border-left:3px solid var(--heat);padding:1px 0 1px 12px;margin:0 0 6px}
.caution{color:var(--ink);font-size:15px;border-left:3px solid var(--cut);padding:1px 0 1px 12px;max-width:80ch;margin:10px 0}
.numbers{display:flex;flex-wrap:wrap;gap:14px 30px;margin:0 0 14px;padding:0}
.numbers div{min-width:84px;display:flex;flex-direction:column-reverse;justify-content:flex-end}
.numbers dd{font-size:30px;line-height:1.15;font-weight:600;margin:0}
.numbers dt{color:var(--soft);font-size:14px;line-height:1.35;max-width:19ch}
figure{margin:0 0 8px}
figcaption{color:var(--soft);font-size:14px;max-width:92ch;margin-top:6px}
svg text{font-size:12px;fill:var(--ink)}
.plot{display:block;overflow:visible;margin-left:146px;width:calc(100% - 268px)}
.frame{overflow:visible}
.plot .name{font-size:15px;font-weight:650}
.plot .unit,.plot .tick{fill:var(--soft);font-size:12px;font-weight:400}
.narrow{display:none}
.grid{stroke:var(--hair);stroke-width:1}
.axis{stroke:var(--soft);stroke-width:1}
.mist{fill:var(--mist)}
.line{fill:none;stroke-width:1.4;stroke-linejoin:round;stroke-linecap:round;vector-effect:non-scaling-stroke}
.line.heat{stroke:var(--heat);stroke-width:2.1}.line.dry{stroke:var(--heat);stroke-width:1.2;stroke-dasharray:7 3}.line.press{stroke:var(--press)}.line.rev{stroke:var(--rev);stroke-width:1.2}
.line.lone{stroke-width:4;stroke-linecap:round}.line.dense{stroke-width:.9}.line.heat.dense{stroke-width:1.2}.line.water{stroke:var(--water);stroke-width:2}.line.second{stroke-dasharray:2 4;stroke-width:1.6}
.level{fill:var(--water);opacity:.1;stroke:none}
.tint{fill:var(--heat);opacity:.1}
.threshold{stroke:var(--heat);stroke-width:1;stroke-dasharray:5 4}.threshold.second{stroke-dasharray:1.5 3.5;stroke-width:1.4}
.tie{stroke:var(--heat);stroke-width:1}
.threshold-label{fill:var(--heat)}.threshold-label.quiet{fill:var(--soft)}
.lane-label{fill:var(--soft)}.lane-label.cutoff{fill:var(--cut)}
.demand{fill:var(--ink)}
.k-spray{fill:var(--water)}.k-rest{fill:url(#dots)}.k-cutoff{fill:url(#hatch)}.k-waiting{fill:var(--off)}
.k-cutoff.lane{stroke:var(--cut);stroke-width:.8}
.rest-paper{fill:var(--rest)}.dot-ink{fill:var(--soft)}.hatch-ink{stroke:var(--cut);stroke-width:2.2}
.ribbon-edge{fill:none;stroke:var(--hair)}
.why{text-anchor:middle;paint-order:stroke;stroke-width:4px;stroke-linejoin:round}
.on-spray{fill:var(--on-water);stroke:var(--water)}.on-rest{stroke:var(--rest)}.on-cutoff{stroke:var(--off)}.on-waiting{stroke:var(--off)}
.difference{stroke:var(--ink);stroke-width:1;stroke-dasharray:8 3}.difference-label{font-weight:650}
.cloud{fill:none;stroke:var(--soft);opacity:.55}.front-line{stroke:var(--ink);stroke-width:1.4}
.front-dot{fill:var(--ink);stroke:var(--paper)}
.mark{fill:var(--paper);stroke:var(--ink);stroke-width:1.8}.mark-letter{font-weight:650;text-anchor:middle}.mark-label{paint-order:stroke;stroke:var(--paper);stroke-width:4px;stroke-linejoin:round}
.mark-tie{stroke:var(--soft);stroke-width:1}.bar{fill:var(--water)}.bar.heat{fill:var(--heat)}.bar-ground{fill:var(--off);stroke:var(--hair)}.bar-svg{display:inline-block;vertical-align:middle;margin-right:8px}
.sheet{margin-top:34px}.three{display:grid;grid-template-columns:repeat(3,minmax(0,1fr));gap:8px 36px;font-size:15px}.marks{display:block;overflow:visible;margin:-6px 0 -7px}
.swatch{display:block;border:1px solid var(--hair)}
.tables{display:grid;grid-template-columns:minmax(0,1.12fr) minmax(0,1fr);gap:26px 52px;margin-top:26px}
section{min-width:0}section+section{margin-top:26px}.tables>section{margin-top:0}.tables>div section+section{margin-top:26px}
.scroll{overflow-x:auto}.scroll+.scroll{margin:14px 0 10px}
table{border-collapse:collapse;font-size:15px;line-height:1.35}
caption{text-align:left;color:var(--soft);font-size:14px;padding-bottom:4px}
th,td{padding:5px 22px 5px 0;border-bottom:1px solid var(--hair);vertical-align:top;text-align:left}
th:last-child,td:last-child{padding-right:0}
table p{margin:0}
thead th{font-weight:600;color:var(--soft);font-size:13px;vertical-align:bottom}
tbody th,tfoot th{font-weight:400}
.n{text-align:right;white-space:nowrap}
tfoot td,tfoot th{border-bottom:0;border-top:1px solid var(--soft);font-weight:600}
.key{padding-right:10px;padding-top:8px}
.soft{color:var(--soft)}.under{display:block;color:var(--soft);font-size:13px;white-space:normal}
tbody th{white-space:nowrap}tbody th.text,tbody th.wrap{white-space:normal}
.k-waiting.edged{stroke:var(--hair)}
.text{overflow-wrap:anywhere}
summary{cursor:pointer;font-weight:650;margin:12px 0 6px}
ul.plain{margin:0 0 10px;padding-left:18px;max-width:80ch}
.runs td{vertical-align:middle}.runs .ribbon{min-width:220px;width:34%}.runs svg{display:block}
@media screen and (max-width:1240px){.fits-full{display:none}}
@media screen and (max-width:1080px){.fits-wide{display:none}.tables,.three{grid-template-columns:minmax(0,1fr)}.numbers{display:grid;grid-template-columns:repeat(3,1fr)}}
@media screen and (max-width:760px){
body{padding:20px 16px 36px}h1{font-size:24px}.say{font-size:17px}
.numbers{display:grid;grid-template-columns:1fr 1fr;gap:12px 20px}.numbers dd{font-size:25px}
.plot{margin-left:34px;width:calc(100% - 116px)}
.wide{display:none}.narrow{display:inline}.odd{display:none}.fits-middle{display:none}
.lonely{stroke-width:.9}.mist.lonely{stroke:var(--mist)}.k-spray.lonely{stroke:var(--water)}.demand.lonely{stroke:var(--ink)}.k-cutoff.lonely{stroke:var(--cut)}
svg .threshold-label,svg .lane-label,svg .tick{font-size:11px}
table{font-size:14px}th,td{padding-right:12px}.key{padding-right:8px}tbody th{white-space:normal}
}
@media print{
:root{color-scheme:light;${tokens(LIGHT)};--paper:#fff}
@page{size:A4 landscape;margin:11mm}
body{max-width:none;padding:0;zoom:.72}
h1{font-size:23px}.sub{font-size:14px;margin-bottom:8px}
.say{font-size:16px;max-width:none;margin-bottom:10px}
.numbers{flex-wrap:nowrap;justify-content:space-between;gap:20px;margin-bottom:0}.numbers dd{font-size:23px}.numbers dt{font-size:13px;max-width:30ch}
p,.caution,.notes,figcaption{max-width:none}figcaption{font-size:13px;margin-top:0}figcaption p{margin-bottom:4px}
details{display:none}
.sheet{break-before:page;margin-top:0}
.plot,tr,.numbers,.caution{break-inside:avoid}h2,h3{break-after:avoid}
.tables{gap:16px 44px;margin-top:16px}figure+.tables{break-before:page}
table,p,ul.plain{font-size:13px}th,td{padding-top:2px;padding-bottom:2px}.under{font-size:12px}.caution{font-size:13px;margin:6px 0}p{margin-bottom:5px}h3{margin:8px 0 2px}
a{color:inherit;text-decoration:none}
}
`;

/** What a page of ours allows itself; it also tells our pages from others (workbench/pages.ts). */
export const PAGE_POLICY =
  "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'";

/** A whole page from its title and body; `title` is escaped here, `body` is HTML already. */
export function pageOf(title: string, body: string): string {
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8"/>
<meta http-equiv="Content-Security-Policy" content="${PAGE_POLICY}"/>
<meta name="viewport" content="width=device-width, initial-scale=1"/>
<meta name="referrer" content="no-referrer"/>
<title>${escaped(title)}</title>
<style>${SHEET}</style>
</head>
<body>
<main>
${body}
</main>
</body>
</html>
`;
}
