/**
 * What a canvas must be told that a style sheet would know by itself: the tokens in force, the size of
 * type, the margins that all strips share. Read anew when the look changes.
 */
const NAMES = [
  ...(['paper', 'ink', 'soft', 'hair', 'water', 'on-water', 'mist', 'heat'] as const),
  ...(['press', 'rev', 'cut', 'rest', 'off'] as const),
] as const;

export type Token = (typeof NAMES)[number];

export interface Look {
  readonly colour: Readonly<Record<Token, string>>;
  /** CSS pixels. */
  readonly typePx: number;
  readonly font: string;
  /** Room for the numbers of the vertical axes and for the labels at the right, CSS pixels. */
  readonly leftPx: number;
  readonly rightPx: number;
}

/** The look that is in force now: the same object as `before` if nothing changed. */
export function currentLook(before?: Look): Look {
  const style = getComputedStyle(document.documentElement);
  const colour = Object.fromEntries(
    NAMES.map((name) => [name, style.getPropertyValue(`--${name}`).trim()]),
  ) as Record<Token, string>;
  const scale = Number(style.getPropertyValue('--scale')) || 1;
  const isNarrow = window.innerWidth <= 700;
  const typePx = (isNarrow ? 11 : 12) * scale;
  const look = {
    colour,
    typePx,
    font: `${typePx}px "Source Sans 3","Segoe UI",system-ui,sans-serif`,
    leftPx: Math.round(3.4 * typePx),
    rightPx: Math.round((isNarrow ? 7.8 : 8.6) * typePx),
  };
  return JSON.stringify(look) === JSON.stringify(before) ? before! : look;
}
