/**
 * A strict little reader of our own pages: every tag closed in order, every attribute quoted, no
 * stray angle bracket or ampersand. Gives the elements in document order, with the text inside.
 */
export interface Element {
  readonly name: string;
  readonly attributes: ReadonlyMap<string, string>;
  /** All text inside, tags left out, entities resolved. */
  text: string;
}

const TAG = /<(\/?)([a-zA-Z][a-zA-Z0-9]*)((?:\s+[a-zA-Z][a-zA-Z0-9-]*="[^"<>]*")*)\s*(\/?)>/y;
const ENTITIES: Readonly<Record<string, string>> = {
  '&amp;': '&',
  '&lt;': '<',
  '&gt;': '>',
  '&quot;': '"',
  '&#39;': "'",
};

function resolved(text: string): string {
  return text.replace(/&[^;\s]*;?/g, (entity) => {
    if (!Object.hasOwn(ENTITIES, entity)) throw new Error(`a stray ampersand: ${entity}`);
    return ENTITIES[entity];
  });
}

/** Throws with the place if the page is not well-formed. */
export function elementsOf(page: string): Element[] {
  const doctype = '<!doctype html>\n';
  if (!page.startsWith(doctype)) throw new Error('no doctype');
  const all: Element[] = [];
  const open: Element[] = [];
  let at = doctype.length;
  while (at < page.length) {
    if (page[at] !== '<') {
      const end = page.indexOf('<', at);
      const raw = page.slice(at, end < 0 ? page.length : end);
      const isStyle = open[open.length - 1]?.name === 'style';
      if (!isStyle && raw.includes('>')) throw new Error(`a stray bracket: ${raw.slice(0, 60)}`);
      const text = isStyle ? raw : resolved(raw);
      for (const element of open) element.text += text;
      at += raw.length;
      continue;
    }
    TAG.lastIndex = at;
    const tag = TAG.exec(page);
    if (tag === null) throw new Error(`not a tag: ${page.slice(at, at + 80)}`);
    const [whole, closing, name, attributes, empty] = tag;
    at += whole.length;
    if (closing !== '') {
      const last = open.pop();
      if (last?.name !== name) throw new Error(`</${name}> closes <${last?.name ?? 'nothing'}>`);
      continue;
    }
    const pairs = [...attributes.matchAll(/([a-zA-Z][a-zA-Z0-9-]*)="([^"]*)"/g)];
    const element: Element = {
      name,
      attributes: new Map(pairs.map(([, key, value]) => [key, resolved(value)])),
      text: '',
    };
    if (element.attributes.size !== pairs.length) throw new Error(`an attribute twice: ${whole}`);
    all.push(element);
    if (empty === '') open.push(element);
  }
  if (open.length > 0) throw new Error(`<${open[0].name}> is never closed`);
  return all;
}

/** Rows of the table in the section with this heading, as cells of text (head and foot included). */
export function tableUnder(page: string, heading: string): string[][] {
  const start = page.indexOf(`<h2>${heading}</h2>`);
  if (start < 0) throw new Error(`no section is called ${heading}`);
  const from = page.indexOf('<table', start);
  const html = page.slice(from, page.indexOf('</table>', from));
  return [...html.matchAll(/<tr>(.*?)<\/tr>/gs)].map(([, row]) =>
    [...row.matchAll(/<(th|td)[^>]*>(.*?)<\/\1>/gs)].map(([, , cell]) =>
      resolved(cell.replace(/<span class="under">.*?<\/span>/g, '').replace(/<[^>]*>/g, '')),
    ),
  );
}
