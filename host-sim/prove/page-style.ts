/**
 * The style of the evidence beyond that of every page: the table of cutoffs, its cells under each other on a
 * narrow screen, and in print a head on each sheet that names the car and the fingerprint.
 */

/** Text as a string of CSS that cannot end it: all but plain characters become escapes. */
export function cssString(text: string): string {
  const plain = /[A-Za-z0-9 .,:;()_-]/u;
  const parts = [...text].map((each) =>
    plain.test(each) ? each : `\\${each.codePointAt(0)!.toString(16)} `,
  );
  return `"${parts.join('')}"`;
}

/** The style sheet; `running` stands at the head of each printed sheet. */
export function evidenceStyle(running: string): string {
  return `<style>
.cutoffs tbody{border-top:1px solid var(--soft)}
.cutoffs .head th,.cutoffs .head td{padding-top:12px;white-space:normal}
.cutoffs .head .under{max-width:80ch}
.cutoffs .cause th{padding-left:18px;min-width:200px}
.cutoffs td{min-width:64px}.cutoffs td:last-child{min-width:150px;max-width:280px}
.cutoffs .call td{padding:8px 0 14px 18px}
.call figure{display:flex;flex-wrap:wrap;gap:8px 20px;align-items:center;margin:0}
.call figcaption{flex:1 1 240px;margin:0;max-width:92ch}.call svg{flex:none;max-width:100%}
.call-name{color:var(--ink)}
.not-held{color:var(--cut);font-weight:650}
.k-cutoff.lane{fill:var(--off);stroke:var(--cut)}.k-force{fill:var(--soft)}
.signed{display:grid;grid-template-columns:1fr 1fr;gap:34px 40px;max-width:80ch;margin:26px 0 0}
.signed div{border-top:1px solid var(--ink);padding-top:4px;color:var(--soft);font-size:14px}
@media screen and (max-width:760px){
.stack thead,.cutoffs thead{display:none}
.stack,.stack tbody,.stack tr,.stack th,.stack td,.cutoffs,.cutoffs tbody,.cutoffs tr,.cutoffs th,.cutoffs td{display:block;padding-left:0;padding-right:0;max-width:none}
.stack th,.stack td,.cutoffs th,.cutoffs td{border-bottom:0;padding-top:2px;padding-bottom:2px}
.stack tr,.cutoffs tr{border-bottom:1px solid var(--hair);padding:6px 0}
.stack td[data-name],.cutoffs td[data-name]{display:grid;grid-template-columns:minmax(90px,38%) minmax(0,1fr);gap:10px;overflow-wrap:anywhere}
.stack td[data-name]::before,.cutoffs td[data-name]::before{content:attr(data-name);color:var(--soft);font-size:13px}
.cutoffs td[data-name]>*{grid-column:2}
.cutoffs .cause,.cutoffs .call{margin-left:14px}.cutoffs .cause th{padding-left:0;min-width:0}.cutoffs .call td{padding:8px 0}
.signed{grid-template-columns:1fr}
}
@media print{
@page{margin:17mm 11mm 12mm;@top-left{content:${cssString(running)};font:9pt sans-serif;color:#5c646c}@bottom-right{content:counter(page) " of " counter(pages);font:9pt sans-serif;color:#5c646c}}
.cutoffs tbody{break-inside:avoid}.signed{break-inside:avoid}
}
</style>`;
}
