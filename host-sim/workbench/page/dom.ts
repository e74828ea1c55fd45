/**
 * Elements and tables from plain text. Nothing here takes HTML: whatever a file holds becomes text
 * nodes and attributes, so it stays text.
 */
type Content = Node | string | undefined;

/** An element; `attributes` with an undefined value are left out. */
export function element<Tag extends keyof HTMLElementTagNameMap>(
  tag: Tag,
  attributes: Readonly<Record<string, string | undefined>> = {},
  ...contents: readonly Content[]
): HTMLElementTagNameMap[Tag] {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value !== undefined) made.setAttribute(name, value);
  }
  made.append(...contents.filter((content) => content !== undefined));
  return made;
}

const SVG = 'http://www.w3.org/2000/svg';

/** An element of SVG. */
export function graphic(
  tag: string,
  attributes: Readonly<Record<string, string | number>> = {},
  ...contents: readonly (Node | string)[]
): SVGElement {
  const made = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, String(value));
  made.append(...contents);
  return made;
}

/** The element of the page with this id; it is in the page's own HTML. */
export function byId(id: string): HTMLElement {
  const found = document.getElementById(id);
  if (found === null) throw new Error(`the page has no ${id}`);
  return found;
}

/** A button that does something. */
export function button(text: string, act: () => void, attributes: Record<string, string> = {}) {
  const made = element('button', { type: 'button', ...attributes }, text);
  made.addEventListener('click', act);
  return made;
}

export interface TableColumn {
  readonly head: string;
  readonly number?: boolean;
}

/** A table whose first column heads the rows. */
export function table(
  caption: string,
  columns: readonly TableColumn[],
  rows: readonly (readonly Content[])[],
  classOf: (index: number) => string = () => '',
): HTMLElement {
  const head = columns.map(({ head: text, number }) =>
    element('th', { scope: 'col', class: number === true ? 'n' : undefined }, text),
  );
  const body = rows.map((row, index) =>
    element(
      'tr',
      { class: classOf(index) || undefined },
      ...row.map((cell, at) =>
        at === 0
          ? element('th', { scope: 'row' }, cell)
          : element('td', { class: columns[at].number === true ? 'n' : undefined }, cell),
      ),
    ),
  );
  return element(
    'div',
    { class: 'scroll', tabindex: '0', role: 'region', 'aria-label': caption },
    element(
      'table',
      {},
      element('caption', {}, caption),
      element('thead', {}, element('tr', {}, ...head)),
      element('tbody', {}, ...body),
    ),
  );
}

/** Offers text as a file to save. */
export function saveFile(name: string, type: string, text: string): void {
  const address = URL.createObjectURL(new Blob([text], { type }));
  element('a', { href: address, download: name }).click();
  setTimeout(() => URL.revokeObjectURL(address), 10_000);
}
