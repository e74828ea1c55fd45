/**
 * How the page looks, chosen by hand: large type, high contrast, light or dark. It lasts as long as the
 * page; without a choice the system's own wishes hold.
 */
import { byId } from './dom.js';
import type { Model } from './model.js';

/** Connects the menu. */
export function listenToLook(model: Model): void {
  const root = document.documentElement;
  const flag = (id: string, name: string) => {
    const box = byId(id) as HTMLInputElement;
    box.addEventListener('change', () => {
      root.toggleAttribute(name, box.checked);
      model.tell('look');
    });
  };
  flag('large', 'data-large');
  flag('contrast', 'data-contrast');
  const scheme = byId('scheme') as HTMLSelectElement;
  scheme.addEventListener('change', () => {
    if (scheme.value === '') root.removeAttribute('data-scheme');
    else root.setAttribute('data-scheme', scheme.value);
    model.tell('look');
  });
  matchMedia('(prefers-color-scheme: dark)').addEventListener('change', () => model.tell('look'));
  matchMedia('(prefers-contrast: more)').addEventListener('change', () => model.tell('look'));
}
