// A change of a patch's text, which keeps its comments.

import { applyEdits, type Edit, KINDS, readPatch } from 'forehear';

const TEXT = `modules:
  hiss: { kind: noise }   # the source
  out: { kind: output }
cables:
  - hiss.white -> out.left
`;
const edits: readonly Edit[] = [
  { type: 'set-value', file: 'hiss.yaml', path: ['modules', 'hiss', 'level'], text: '1 V' },
  { type: 'add-cable', file: 'hiss.yaml', text: 'hiss.pink -> out.right' },
];
const text = applyEdits('hiss.yaml', TEXT, edits);
const { patch } = readPatch(text ?? '', { file: 'hiss.yaml', kinds: KINDS });

export const seen = {
  text,
  cables: patch?.cables.length,
  level: patch?.modules[0]?.settings.level,
};
