/**
 * Puts tables made from the code into pages written by hand. Takes a page's text and the tables by
 * name; gives the text with what stands between `<!-- generated: NAME -->` and `<!-- /generated -->`
 * replaced. Everything outside the markers is left as it is. No file system here.
 */

const BLOCK = /^<!-- generated: (.*) -->\n([\s\S]*?)^<!-- \/generated -->$/gmu;
const OPENING = /<!-- generated: /gu;
const CLOSING = /<!-- \/generated -->/gu;

/**
 * The page as it should be; a page that is not stale comes back unchanged. Throws an Error that names
 * the page if a table is not known or a marker has no partner. `page` is for messages only.
 */
export function renderDocs(
  text: string,
  tables: ReadonlyMap<string, string>,
  page = 'page',
): string {
  let blocks = 0;
  const rendered = text.replace(BLOCK, (_block, name: string) => {
    blocks += 1;
    const table = tables.get(name);
    if (table === undefined) {
      const known = [...tables.keys()].join(', ');
      throw new Error(`${page}: no table is called ${name}; there are ${known}`);
    }
    return `<!-- generated: ${name} -->\n\n${table.trim()}\n\n<!-- /generated -->`;
  });
  for (const marker of [OPENING, CLOSING]) {
    if ((text.match(marker) ?? []).length === blocks) continue;
    throw new Error(`${page}: a marker <!-- generated: NAME --> or <!-- /generated --> is alone`);
  }
  return rendered;
}

/** The names of the tables that a page has a place for. */
export function tablesIn(text: string): string[] {
  return Array.from(text.matchAll(BLOCK), (block) => block[1]);
}

/** A Markdown table: its head and its rows, a text a cell. */
export function markdownTable(
  head: readonly string[],
  rows: readonly (readonly string[])[],
): string {
  return [head, head.map(() => '---'), ...rows].map(markdownRow).join('\n');
}

function markdownRow(cells: readonly string[]): string {
  return `| ${cells.map((cell) => cell.replaceAll('|', '\\|')).join(' | ')} |`;
}
