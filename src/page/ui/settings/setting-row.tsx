/** One setting: its name, its value as the file writes it, its scale or its choices, its dial. */

import { useCell } from '../../pieces/cell.ts';
import type { FindingView, PatchChange, SettingView } from '../../protocol.ts';
import { offered } from '../../worker/offer.ts';
import { briefOf } from '../../worker/scale.ts';
import { FindingHere, Sign, TOLD } from '../finding.tsx';
import { type ChangeOutcome, changedPlace } from '../moves.ts';
import { useSheet } from '../use-sheet.ts';
import { Choice } from './choice.tsx';
import { Field } from './field.tsx';
import { SettingScale } from './scale.tsx';

export interface SettingRowProps {
  readonly module: string;
  readonly setting: SettingView;
  /** The finding shown at it. */
  readonly told: FindingView | undefined;
  readonly hasDials: boolean;
}

export function SettingRow({ module, setting, told, hasDials }: SettingRowProps) {
  const sheet = useSheet();
  const { name, about, text, isGiven, usual, reading, dial, control } = setting;
  const label = `${module} ${name}`;
  // For controls without a field; a field shows its own refusal.
  const refusal = useCell<ChangeOutcome>(() => undefined);
  const changeTo = (value: string): PatchChange => ({
    type: 'setting',
    module,
    setting: name,
    text: value,
  });
  const send = (value: string): Promise<ChangeOutcome> => sheet.change(changeTo(value));
  const place = changedPlace(changeTo(text));
  const move = async (value: string): Promise<ChangeOutcome> => {
    const words = await send(value);
    refusal.put(words);
    return words;
  };
  // The whole value is written; its label needs only four digits.
  const usualWords = control.type === 'number' ? briefOf(control.fallback, control) : usual;
  const second = reading !== undefined && <span class="second">{reading}</span>;
  const describedBy = told && TOLD;
  const refused = refusal.now !== undefined && (
    <span class="refusal" role="alert">
      Not taken: {refusal.now}
    </span>
  );
  return (
    <>
      <tr class={`${isGiven ? 'given' : ''} ${told?.severity ?? ''}`} data-setting={name}>
        <th scope="row" title={about}>
          {told !== undefined && <Sign severity={told.severity} />}
          {name}
        </th>
        {control.type === 'choice' ? (
          <td colSpan={2}>
            <Choice
              label={label}
              value={text}
              options={control.options}
              describedBy={describedBy}
              onChoose={move}
            />
            {refused}
          </td>
        ) : control.type === 'number' ? (
          <>
            <td>
              <Field
                label={label}
                place={place}
                text={text}
                hint={hintOf(setting)}
                describedBy={describedBy}
                offer={(typed) => offered(typed, control)}
                onSend={send}
              />
              {second}
            </td>
            <td class="scale-cell">
              <SettingScale label={`${label}, scale`} text={text} control={control} onSend={move} />
              {refused}
            </td>
          </>
        ) : (
          <td colSpan={2}>
            <Field
              label={label}
              place={place}
              text={text}
              hint={control.expected}
              wide
              describedBy={describedBy}
              offer={(typed) => offered(typed, control)}
              onSend={send}
            />
            {second}
          </td>
        )}
        {hasDials && <td>{dial !== undefined && <span class="dial">{dial}</span>}</td>}
        <td class="quiet status">
          {isGiven && usual !== undefined && usual !== text ? (
            <button
              type="button"
              class="back"
              aria-label={`back to ${usualWords}: ${label}`}
              onClick={({ currentTarget }) => {
                // The button disappears once the value is back, so the focus goes elsewhere.
                currentTarget
                  .closest('tr')
                  ?.querySelector<HTMLElement>('select,input:not([type=range])')
                  ?.focus();
                void move(usual);
              }}
            >
              back to {usualWords}
            </button>
          ) : isGiven ? (
            'set'
          ) : (
            'as usual'
          )}
        </td>
      </tr>
      {told !== undefined && (
        <tr class="told-row">
          <td colSpan={hasDials ? 5 : 4}>
            <FindingHere told={told} />
          </td>
        </tr>
      )}
    </>
  );
}

function hintOf({ about, control }: SettingView): string {
  if (control.type !== 'number') return about;
  const [min, max, usual] = [control.min, control.max, control.fallback].map((value) =>
    briefOf(value, control),
  );
  return `${about} From ${min} to ${max}; usually ${usual}.`;
}
