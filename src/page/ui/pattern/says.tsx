/** The attributes of a place of the score, each in a field; an empty field leaves the usual value. */

import type { Said, ScorePlace, WordControl } from '../../protocol.ts';
import { offered } from '../../worker/offer.ts';
import { changedPlace } from '../moves.ts';
import { Field } from '../settings/field.tsx';
import { useSheet } from '../use-sheet.ts';

export interface SaysProps {
  readonly module: string;
  readonly at: ScorePlace;
  /** The place in words, for a person who cannot see where a field is. */
  readonly name: string;
  readonly controls: readonly WordControl[];
  readonly said: Said;
  /** The values that apply where it has no attribute of its own. */
  readonly usual: Said;
}

/** The fields, each with its label. */
export function Says(props: SaysProps) {
  return (
    <span class="says">
      {props.controls.map((control) => (
        <span key={control.word} class="saying" title={control.about}>
          <span>{control.word}</span> <SaysField {...props} control={control} />
        </span>
      ))}
    </span>
  );
}

export type SaysFieldProps = Omit<SaysProps, 'controls'> & { readonly control: WordControl };

export function SaysField({ module, at, name, control, said, usual }: SaysFieldProps) {
  const sheet = useSheet();
  const { word } = control;
  return (
    <Field
      label={`${name}: ${word}`}
      place={placeOfWord(module, at, word)}
      text={said[word] ?? ''}
      usual={usual[word] ?? ''}
      hint={control.about}
      short
      offer={(typed) => offered(typed, control.control)}
      onSend={(text) => sheet.change({ type: 'word', module, at, word, text })}
    />
  );
}

/** What a field of an attribute is the value of. */
export function placeOfWord(module: string, at: ScorePlace, word: string): string {
  return changedPlace({ type: 'word', module, at, word, text: '' });
}
