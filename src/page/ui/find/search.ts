/** Searches a patch for modules, settings, jacks and cables by the words of their names. */

import type { PatchView } from '../../protocol.ts';

/** A place of the page: the id of its heading, and what it says. */
export interface FoundSection {
  readonly id: string;
  readonly words: string;
}

export type Found =
  | { readonly type: 'voice'; readonly name: string }
  | { readonly type: 'module'; readonly module: string; readonly kind: string }
  | {
      readonly type: 'setting';
      readonly module: string;
      readonly setting: string;
      readonly text: string;
    }
  | { readonly type: 'jack'; readonly jack: string }
  | {
      readonly type: 'cable';
      readonly number: number;
      readonly from: string;
      readonly to: string;
    }
  | ({ readonly type: 'section' } & FoundSection);

/**
 * Everything that has all of the words in its name, in this order: voices, modules, settings, jacks, cables, sections.
 * @returns nothing for no words.
 */
export function search(
  view: PatchView,
  sections: readonly FoundSection[],
  words: string,
): readonly Found[] {
  const wanted = words
    .toLowerCase()
    .split(/\s+/)
    .filter((word) => word !== '');
  if (wanted.length === 0) return [];
  const fits = (...names: readonly string[]): boolean => {
    const text = names.join(' ').toLowerCase();
    return wanted.every((word) => text.includes(word));
  };
  const { voices, modules, cables } = view;
  const plugged = [...new Set(cables.flatMap(({ from, to }) => [from, to]))].sort();
  return [
    ...voices.filter(({ name }) => fits(name)).map(({ name }): Found => ({ type: 'voice', name })),
    ...modules
      .filter(({ name, kind }) => fits(name, kind))
      .map(({ name, kind }): Found => ({ type: 'module', module: name, kind })),
    ...modules.flatMap(({ name: module, kind, settings }) =>
      settings
        .filter(({ name }) => fits(module, kind, name) && !fits(module, kind))
        .map(({ name, text }): Found => ({ type: 'setting', module, setting: name, text })),
    ),
    ...plugged.filter((jack) => fits(jack)).map((jack): Found => ({ type: 'jack', jack })),
    ...cables
      .filter(({ number, from, to }) => fits(from, 'to', to, `cable ${number}`))
      .map((cable): Found => ({ type: 'cable', ...cable })),
    ...sections
      .filter((section) => fits(section.words))
      .map((section): Found => ({ type: 'section', ...section })),
  ];
}

/** A result in words. */
export function foundWords(found: Found): readonly [what: string, name: string, more: string] {
  switch (found.type) {
    case 'voice':
      return ['voice', found.name, ''];
    case 'module':
      return ['module', found.module, found.kind];
    case 'setting':
      return ['setting', `${found.module} ${found.setting}`, found.text];
    case 'jack':
      return ['jack', found.jack, ''];
    case 'cable':
      return [`cable ${found.number}`, `${found.from} to ${found.to}`, ''];
    case 'section':
      return ['section', found.words, ''];
  }
}
