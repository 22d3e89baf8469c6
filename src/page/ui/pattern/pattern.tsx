/** One pattern: its steps for mouse and keys, its other attributes, and its lines as text fields. */

import { useRef } from 'preact/hooks';
import { useCell } from '../../pieces/cell.ts';
import { usePicked } from '../../pieces/store.ts';
import type {
  ChannelView,
  From,
  PatchChange,
  PatternView,
  RhythmView,
  ScorePlace,
} from '../../protocol.ts';
import { type ChangeOutcome, changedPlace } from '../moves.ts';
import { Field } from '../settings/field.tsx';
import { isSameFrom } from '../strip/places.ts';
import { useKnown, useSheet } from '../use-sheet.ts';
import { type EditedLines, useEditedLines } from './edited-lines.ts';
import { Fold } from './fold.tsx';
import { placeOfWord, Says, SaysField } from './says.tsx';
import { TabEditor } from './tab.tsx';
import { grouped, placeOfStep, SIGNS } from './tab-line.ts';

export interface PatternProps {
  readonly module: string;
  readonly pattern: PatternView;
  readonly controls: RhythmView['controls'];
}

export function PatternEditor({ module, pattern, controls }: PatternProps) {
  const sheet = useSheet();
  const { name, own, stepsPerQuarter, channels, from } = pattern;
  const besides = channels.filter((channel) => channel.own !== undefined);
  // For changes in the grid; a typed line shows its own refusal.
  const refusal = useCell<string | undefined>(() => undefined);
  // The Tab key stops at one step only, and the arrow keys go on from there.
  const last = useCell<readonly [row: number, step: number]>(() => [0, 0]);
  // Another chapter may have fewer lines.
  const chosen = [Math.max(0, Math.min(last.now[0], channels.length - 1)), last.now[1]] as const;
  const changeTo = (channel: string, steps: string): PatchChange => ({
    type: 'steps',
    module,
    pattern: name,
    channel,
    steps,
  });
  const send = (channel: string, steps: string): Promise<ChangeOutcome> =>
    sheet.change(changeTo(channel, steps));
  const write = async (channel: string, steps: string): Promise<ChangeOutcome> => {
    const words = await send(channel, steps);
    refusal.put(words === undefined ? undefined : `${channel}: ${words}`);
    return words;
  };
  const lines = useEditedLines(channels, write);
  return (
    <div class="pattern" data-pattern={name}>
      <div class="pattern-head">
        <h3>Pattern {name}</h3>
        <Alone module={module} pattern={name} />
        {from !== undefined && <span class="quiet">from {from}</span>}
        {own !== undefined && <span class="own">{own}</span>}
      </div>
      <div class="wide">
        <TabEditor
          module={module}
          pattern={pattern}
          lines={lines}
          chosen={chosen}
          onChoose={(row, step) => last.put([row, step])}
        />
      </div>
      {refusal.now !== undefined && (
        <p class="refusal" role="alert">
          Not taken: {refusal.now}
        </p>
      )}
      <StepSays
        module={module}
        pattern={pattern}
        controls={controls}
        lines={lines}
        chosen={chosen}
      />
      {besides.length > 0 && (
        <ul class="own">
          {besides.map((channel) => (
            <li key={channel.name}>
              <b>{channel.name}</b>: {channel.own}
            </li>
          ))}
        </ul>
      )}
      <div class="folds">
        <Fold words={`Other values of ${name}`}>
          {() => <Sayings module={module} pattern={pattern} controls={controls} />}
        </Fold>
        <Fold words={`Type the lines of ${name}`}>
          {() =>
            channels.map(({ name: channel, steps }) => (
              <div key={channel} class="tab-line">
                <span>{channel}</span>
                <Field
                  label={`${name}, ${channel}, steps as text`}
                  place={changedPlace(changeTo(channel, steps))}
                  text={grouped(steps, stepsPerQuarter)}
                  wide
                  onSend={(text) => send(channel, text)}
                />
              </div>
            ))
          }
        </Fold>
      </div>
    </div>
  );
}

/** Loops a pattern alone, or returns to the song. */
function Alone({ module, pattern }: { readonly module: string; readonly pattern: string }) {
  const sheet = useSheet();
  const from = useKnown('from');
  const here: From = { type: 'pattern', module, pattern };
  return (
    <button
      type="button"
      class="alone"
      aria-pressed={isSameFrom(from, here)}
      onClick={() => sheet.toggleFrom(here)}
    >
      Loop <span class="unseen">{pattern} </span>alone
    </button>
  );
}

interface StepSaysProps extends PatternProps {
  readonly lines: EditedLines;
  readonly chosen: readonly [row: number, step: number];
}

/** The attributes of the chosen step. */
function StepSays({ module, pattern, controls, lines, chosen: [row, step] }: StepSaysProps) {
  const box = useRef<HTMLDivElement>(null);
  /** The step whose fields are there. */
  const drawn = useRef<string>(undefined);
  const channel = pattern.channels[Math.min(row, pattern.channels.length - 1)];
  if (channel === undefined) return null;
  const at = Math.min(step, channel.steps.length - 1);
  // As edited: an answer that is overtaken by a later edit must not take a field from under a hand.
  const sign = lines.stepsOf(channel)[at] ?? '-';
  const key = `${channel.name} ${at}`;
  // Nor must a file that another program writes: what is typed stays, and is refused in words where it is for a rest.
  const isTyped = drawn.current === key && hasTyped(box.current);
  const isRest = sign === '-' && !isTyped;
  drawn.current = isRest ? undefined : key;
  const place = placeOfStep(at, pattern.stepsPerQuarter);
  return (
    <div ref={box} class="step-says">
      <span>
        <b>{channel.name}</b>, {place}: {SIGNS[sign] ?? sign}
      </span>
      {isRest ? (
        <span class="quiet">a rest has no other values</span>
      ) : (
        <Says
          key={key}
          module={module}
          at={{ type: 'step', pattern: pattern.name, channel: channel.name, step: at + 1 }}
          name={`${pattern.name}, ${channel.name}, ${place}`}
          controls={controls.step}
          said={channel.at[at + 1] ?? {}}
          usual={{ ...pattern.usual, ...pattern.said, ...channel.said }}
        />
      )}
    </div>
  );
}

/** Whether a field in it has text that is not taken. */
function hasTyped(box: HTMLElement | null): boolean {
  return [...(box?.querySelectorAll('input') ?? [])].some(
    ({ value, dataset }) => value !== dataset.text,
  );
}

/** The attributes of the pattern and of each of its lines. */
function Sayings({ module, pattern, controls }: PatternProps) {
  const { name, channels, said, usual } = pattern;
  const held = { ...usual, ...said };
  return (
    <>
      <p class="quiet">
        An empty field is as usual, which stands in it in grey. A line’s chance is for its{' '}
        <kbd>?</kbd>, or for every hit where it has none.
      </p>
      <Says
        module={module}
        at={{ type: 'pattern', pattern: name }}
        name={name}
        controls={controls.pattern}
        said={said}
        usual={usual}
      />
      <div class="wide">
        <table class="line-says">
          <thead>
            <tr>
              <th scope="col">line</th>
              {controls.line.map(({ word, about }) => (
                <th key={word} scope="col" title={about}>
                  {word}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {channels.map((channel) => (
              <LineSays
                key={channel.name}
                module={module}
                pattern={name}
                channel={channel}
                controls={controls.line}
                usual={held}
              />
            ))}
          </tbody>
        </table>
      </div>
    </>
  );
}

interface LineSaysProps {
  readonly module: string;
  readonly pattern: string;
  readonly channel: ChannelView;
  readonly controls: RhythmView['controls']['line'];
  readonly usual: PatternView['usual'];
}

function LineSays({ module, pattern, channel, controls, usual }: LineSaysProps) {
  const { name, hasLine, said } = channel;
  const at: ScorePlace = { type: 'line', pattern, channel: name };
  // What is typed stays, though the line is gone from the file: there it is refused in words.
  const isTyped = usePicked(useSheet().drafts, (drafts) =>
    controls.some(({ word }) => drafts[placeOfWord(module, at, word)] !== undefined),
  );
  return (
    <tr>
      <th scope="row">{name}</th>
      {hasLine || isTyped ? (
        controls.map((control) => (
          <td key={control.word}>
            <SaysField
              module={module}
              at={at}
              name={`${pattern}, ${name}`}
              control={control}
              said={said}
              usual={usual}
            />
          </td>
        ))
      ) : (
        <td class="quiet" colSpan={controls.length}>
          rests
        </td>
      )}
    </tr>
  );
}
