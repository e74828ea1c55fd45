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
.cutoffs{width:100%;table-layout:fixed}.cutoffs tbody{border-top:1px solid var(--soft)}
.cutoffs thead th:first-child{width:31%}.cutoffs thead th:last-child{width:19%}
.cutoffs .head th,.cutoffs .head td{padding-top:12px;white-space:normal}
.cutoffs .cause th{padding-left:18px}
.cutoffs .call td{padding:8px 0 14px 18px}
.call figure{display:flex;flex-wrap:wrap;gap:8px 20px;align-items:center;margin:0}
.call figcaption{flex:1 1 220px;margin:0;max-width:92ch}.call svg{flex:none;max-width:100%}
.call-name{color:var(--ink)}
.not-held{color:var(--cut);font-weight:650}
.k-cutoff.lane{fill:var(--off);stroke:var(--cut)}.k-force{fill:var(--soft)}
.settings{columns:4 220px;column-gap:36px;margin:0;font-size:14px}
.settings div{display:flex;justify-content:space-between;gap:12px;break-inside:avoid;border-bottom:1px solid var(--hair);padding:2px 0}.settings dd{margin:0;text-align:right}
.signed{display:grid;grid-template-columns:1fr 1fr;gap:44px 40px;max-width:80ch;margin:40px 0 0}
.signed div{border-top:1px solid var(--ink);padding-top:4px;color:var(--soft);font-size:14px}
@media screen and (max-width:760px){
.stack thead,.cutoffs thead{display:none}
.stack,.stack tbody,.stack tr,.stack th,.stack td,.cutoffs,.cutoffs tbody,.cutoffs .head,.cutoffs .head th,.cutoffs .head td,.cutoffs .call,.cutoffs .call td{display:block;padding-left:0;padding-right:0}
.stack th,.stack td,.cutoffs th,.cutoffs td{border-bottom:0;padding-top:2px;padding-bottom:2px;overflow-wrap:anywhere}
.stack tr,.cutoffs tr{border-bottom:1px solid var(--hair);padding:6px 0}
.stack td[data-name],.cutoffs .head td{display:grid;grid-template-columns:minmax(84px,30%) minmax(0,1fr);gap:10px}
td[data-name]::before{content:attr(data-name);color:var(--soft);font-size:13px}
.cutoffs .cause{display:grid;grid-template-columns:repeat(3,minmax(0,1fr));gap:4px 10px;margin-left:14px}
.cutoffs .cause th{grid-column:1/-1;padding:0}.cutoffs .cause td{padding:0}
.cutoffs .call{margin-left:14px}.cutoffs .call td{padding:6px 0}
.signed{grid-template-columns:minmax(0,1fr)}
}
@media print{
@page{margin:17mm 11mm 12mm;@top-left{content:${cssString(running)};font:9pt sans-serif;color:#5c646c}@bottom-right{content:counter(page) " of " counter(pages);font:9pt sans-serif;color:#5c646c}}
.cutoffs tbody{break-inside:avoid}ul.plain,.cutoffs .head .under{max-width:none}.settings{columns:5;font-size:12px}.looked,section:has(.looked){break-inside:avoid}
}
</style>`;
}
