/**
 * The workbench's style sheet, on the tokens of the report pages (report/style.ts), with what a page
 * needs that is worked with: focus rings, controls of 24 CSS pixels and more, large type and high
 * contrast on demand, light and dark by the system or by hand. Gives CSS as text.
 */
import { DARK, LIGHT, tokens } from '../report/style.js';

/** For sunlight: ink and paper at their ends, hairlines that show. */
const STARK_LIGHT = { paper: '#ffffff', ink: '#000000', soft: '#2b3137', hair: '#8b9197' };
const STARK_DARK = { paper: '#000000', ink: '#ffffff', soft: '#d3d9de', hair: '#7d858c' };

const THEMES = `
:root{color-scheme:light dark;--scale:1;${tokens(LIGHT)}}
@media (prefers-color-scheme:dark){:root:not([data-scheme=light]){${tokens(DARK)}}}
:root[data-scheme=light]{color-scheme:light}
:root[data-scheme=dark]{color-scheme:dark;${tokens(DARK)}}
:root[data-contrast]{${tokens(STARK_LIGHT)}}
@media (prefers-color-scheme:dark){:root[data-contrast]:not([data-scheme=light]){${tokens(STARK_DARK)}}}
:root[data-contrast][data-scheme=dark]{${tokens(STARK_DARK)}}
:root[data-large]{--scale:1.3}
@media (prefers-contrast:more){:root{${tokens(STARK_LIGHT)}}}
@media (prefers-contrast:more) and (prefers-color-scheme:dark){:root:not([data-scheme=light]){${tokens(STARK_DARK)}}}
`;

const FRAME = `
*{box-sizing:border-box}
html{font-size:calc(16px * var(--scale));-webkit-text-size-adjust:100%}
body{margin:0;background:var(--paper);color:var(--ink);font:1rem/1.45 "Source Sans 3","Segoe UI",system-ui,"Helvetica Neue",Arial,sans-serif;font-variant-numeric:tabular-nums lining-nums}
[hidden]{display:none!important}
header,main,footer{max-width:1520px;margin:0 auto;padding:0 28px}
header{display:flex;flex-wrap:wrap;align-items:center;gap:8px 20px;padding-top:14px;padding-bottom:10px;border-bottom:1px solid var(--hair)}
main{padding-top:16px}
footer{padding-top:20px;padding-bottom:36px}
.brand{margin:0;color:var(--soft)}.brand b{color:var(--ink);font-weight:650}
nav{display:flex;flex-wrap:wrap;gap:4px 6px;flex:1 1 auto;min-width:0}
#live{border-bottom:1px solid var(--hair);margin:0 0 14px}#live h2,#live p{margin:0 0 4px}#live-recorded:empty{display:none}#live-now{max-width:none;color:var(--ink)}
#pages{gap:4px 18px;margin:0 0 12px}
.skip{position:absolute;left:-999px}.skip:focus{left:8px;top:8px;background:var(--paper);padding:6px 10px;z-index:9}
h1{font-size:1.6rem;line-height:1.2;font-weight:650;letter-spacing:-.01em;margin:0 0 2px;overflow-wrap:anywhere}
h2{font-size:1.06rem;line-height:1.3;font-weight:650;margin:0 0 6px}
h3{font-size:.95rem;font-weight:650;margin:16px 0 4px}
p{margin:0 0 10px;max-width:78ch}.small{color:var(--soft);font-size:.875rem}
a{color:var(--water)}b,strong{font-weight:650}
.sub{color:var(--soft);margin:0 0 8px;max-width:none;overflow-wrap:anywhere}
.say{font-size:1.13rem;max-width:92ch;margin:0 0 12px}
#say-model:empty{display:none}
.notes{list-style:none;margin:0 0 10px;padding:0;max-width:92ch}
.notes li{border-left:3px solid var(--heat);padding:1px 0 1px 12px;margin:0 0 4px;font-size:.94rem}
.notes:empty{display:none}
.caution{font-size:.94rem;border-left:3px solid var(--cut);padding:1px 0 1px 12px;max-width:92ch;margin:10px 0}
.numbers{display:flex;flex-wrap:wrap;gap:10px 30px;margin:0 0 12px}
.numbers div{min-width:84px;display:flex;flex-direction:column-reverse;justify-content:flex-end}
.numbers dd{font-size:1.7rem;line-height:1.15;font-weight:600;margin:0}
.numbers dt{color:var(--soft);font-size:.875rem;line-height:1.35;max-width:22ch}
.row{display:flex;flex-wrap:wrap;gap:6px;align-items:center;max-width:none}
.bar{display:flex;flex-wrap:wrap;justify-content:space-between;gap:6px 20px;margin:0 0 6px}
.columns{display:grid;grid-template-columns:minmax(0,1fr) minmax(290px,22rem);gap:24px 36px;align-items:start}
.left>section+section{margin-top:26px}section{min-width:0}
`;

const CONTROLS = `
button,select,input,summary{font:inherit;color:inherit}
button,select{min-height:30px;padding:2px 10px;border:1px solid var(--soft);border-radius:4px;background:var(--paper);cursor:pointer}
button:hover{background:var(--off)}button:disabled{color:var(--soft);border-color:var(--hair);cursor:default}
button.main,button[aria-pressed=true]{background:var(--ink);color:var(--paper);border-color:var(--ink)}
nav button{max-width:26ch;overflow:hidden;text-overflow:ellipsis;white-space:nowrap}
nav button[aria-current=true]{background:var(--ink);color:var(--paper);border-color:var(--ink)}
input[type=number],input[type=text]{width:6.6em;min-height:30px;padding:2px 6px;border:1px solid var(--soft);border-radius:4px;background:var(--paper);text-align:right}
input[type=checkbox],input[type=radio]{width:18px;height:18px;vertical-align:-3px;accent-color:var(--water)}
:focus-visible{outline:3px solid var(--water);outline-offset:2px}
summary{cursor:pointer;font-weight:650;padding:3px 0}
#look{position:relative}#look>summary{border:1px solid var(--soft);border-radius:4px;padding:2px 10px;min-height:30px;font-weight:400}
#look .menu{position:absolute;right:0;top:calc(100% + 4px);z-index:5;display:grid;gap:8px;width:max-content;max-width:86vw;padding:12px 16px;background:var(--paper);border:1px solid var(--soft);border-radius:4px}
#messages:not(:empty){border-left:4px solid var(--cut);padding:4px 12px;margin:0 0 14px;background:var(--off)}
#messages p{margin:3px 0}
#drop{position:fixed;inset:0;display:grid;place-items:center;background:var(--paper);opacity:.94;font-size:1.6rem;border:4px dashed var(--water);z-index:20}
.keys{display:grid;grid-template-columns:max-content 1fr;gap:4px 16px;margin:6px 0;font-size:.9rem}.keys dd{margin:0}
kbd{font:inherit;border:1px solid var(--hair);border-radius:3px;padding:0 5px}
`;

const PICTURE = `
#strips{position:relative;touch-action:pan-y;user-select:none;cursor:crosshair;border-radius:3px}
[aria-busy=true] #strips{cursor:progress}
.strip{display:grid;grid-template-columns:104px minmax(0,1fr);gap:0 4px;margin-top:10px}
.strip .label{font-size:.94rem;font-weight:650;line-height:1.2}
.strip .label span{display:block;color:var(--soft);font-size:.78rem;font-weight:400}
.strip output{display:block;font-size:1rem;font-weight:600;margin-top:3px;min-height:1.4em;overflow-wrap:anywhere}
.strip output.words{font-size:.82rem;font-weight:400;line-height:1.25}
.plot{min-width:0}.plot canvas{display:block}
.uplot,.uplot *,.uplot *::before,.uplot *::after{box-sizing:border-box}
.uplot{width:min-content}.u-wrap{position:relative}.u-over,.u-under{position:absolute}.u-over{pointer-events:none}
.uplot canvas{display:block;position:relative;width:100%;height:100%}
.mark,.hover{position:absolute;top:0;bottom:0;width:0;pointer-events:none}
.mark{border-left:2px solid var(--ink)}.mark::before{content:attr(data-time);position:absolute;top:-8px;left:4px;font-size:.8rem;font-weight:650;background:var(--paper);padding:0 3px;white-space:nowrap}
.mark.flipped::before{left:auto;right:4px}
.hover{border-left:1px dashed var(--soft)}
`;

const PANELS = `
.scroll{overflow-x:auto}table{border-collapse:collapse;font-size:.92rem;line-height:1.35}
caption{text-align:left;color:var(--soft);font-size:.875rem;padding-bottom:4px}
th,td{padding:4px 18px 4px 0;border-bottom:1px solid var(--hair);vertical-align:top;text-align:left}
thead th{font-weight:600;color:var(--soft);font-size:.82rem;vertical-align:bottom}
tbody th{font-weight:400}.n{text-align:right;white-space:nowrap}.soft{color:var(--soft)}
.verdict{white-space:nowrap;font-weight:600}
.verdict svg{vertical-align:-2px;margin-right:6px}
tr.stopped{background:var(--off)}tr.stopped th,tr.stopped td{font-weight:650;border-bottom-color:var(--soft)}
tr.stopped .verdict{color:var(--cut)}tr.passed,tr.unreached{color:var(--soft)}
.setting{display:grid;grid-template-columns:1fr auto;gap:0 10px;padding:5px 0 5px 8px;border-left:3px solid transparent;border-bottom:1px solid var(--hair)}
.setting.changed{border-left-color:var(--heat)}
.setting label{align-self:center}.setting .unit{color:var(--soft);font-size:.85rem;display:inline-block;min-width:3.2em;padding-left:4px}
.setting .under{grid-column:1/-1;font-size:.8rem;color:var(--soft);margin:0;line-height:1.3}
.setting:not(:focus-within) .more{display:none}
.setting .was{color:var(--heat);font-weight:600}.setting .wrong{color:var(--cut);font-weight:600}
.setting [aria-invalid=true]{border-color:var(--cut);border-width:2px}
#settings{position:sticky;top:8px;max-height:calc(100vh - 16px);overflow-y:auto;padding:2px 6px 12px 2px}
#settings fieldset{border:0;margin:0 0 4px;padding:0}#settings-bar{margin-bottom:8px}
#tune-picture{max-width:620px;cursor:pointer}
.front{display:block;max-width:100%}
.front text{font-size:calc(12px * var(--scale));fill:var(--soft)}.front .letter{fill:var(--ink);font-weight:650;stroke:var(--paper);stroke-width:4px;paint-order:stroke}.front .axis{stroke:var(--soft)}.front .grid{stroke:var(--hair)}
.front .dot{fill:var(--paper);stroke:var(--soft)}.front .best{fill:var(--water);stroke:var(--water)}.front .today{fill:none;stroke:var(--heat);stroke-width:2}
.front .path{fill:none;stroke:var(--water)}.front .chosen{fill:none;stroke:var(--ink);stroke-width:2}
#tune-body input{width:5.4em}#tune-body p.row{margin:0 0 6px}
`;

const NARROW = `
@media (max-width:1040px){.columns{grid-template-columns:minmax(0,1fr)}#settings{position:static;max-height:none}}
@media (max-width:700px){#look{position:static}#look .menu{left:14px;right:14px;top:auto;width:auto}header,main,footer{padding-left:14px;padding-right:14px}
.strip{grid-template-columns:minmax(0,1fr)}.strip .label{display:flex;flex-wrap:wrap;gap:0 8px;align-items:baseline}
.strip .label span{display:inline}.strip output{margin:0;min-height:0}
.numbers{display:grid;grid-template-columns:1fr 1fr;gap:10px 18px}.numbers dd{font-size:1.45rem}
th,td{padding-right:10px}}
@media (prefers-reduced-motion:no-preference){.mark{transition:left .08s}}
@media (forced-colors:active){.mark{border-color:CanvasText}}
`;

/** The style sheet. */
export function pageStyle(): string {
  return THEMES + FRAME + CONTROLS + PICTURE + PANELS + NARROW;
}
