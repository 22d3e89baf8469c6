/**
 * The voices as chapters: which one is chosen, its lines, its level in the mix; and buttons to hear it alone, leave it
 * out, or strike it.
 */

import { useRef } from 'preact/hooks';
import { decibels } from '../../pieces/where.ts';
import type { PatchView, StrokeWish, VoiceView } from '../../protocol.ts';
import { useKeptFocus } from '../kept-focus.ts';
import { useKnown, useSheet } from '../use-sheet.ts';
import { useChapter, useMarkedBlocks } from './chapter.ts';
import { PadsButton } from './pads-button.tsx';
import { strokeKeys } from './stroke-keys.ts';

export function VoiceTable() {
  const view = useKnown('view');
  const place = useRef<HTMLDivElement>(null);
  useKeptFocus(place);
  useMarkedBlocks();
  if (view === undefined) return null;
  const { voices, modules, cables } = view;
  if (voices.length === 0)
    return <p class="on-screen">There is no voice: nothing reaches the output.</p>;
  return (
    <div ref={place} class="on-screen" data-takes-keys="">
      <div class="wide">
        <table class="voices">
          <thead>
            <tr>
              <th scope="col">voice</th>
              <th scope="col" class="count">
                modules
              </th>
              <th scope="col" class="count">
                jacks
              </th>
              {voices.length > 1 && <th scope="col">hear</th>}
              <th scope="col">strike</th>
            </tr>
          </thead>
          <tbody>
            <tr>
              <th scope="row">
                <Choose voice={undefined} />
              </th>
              <td class="count" data-of="modules">
                {modules.length}
              </td>
              <td class="count" data-of="jacks">
                {new Set(cables.flatMap(({ from, to }) => [from, to])).size}
              </td>
              {voices.length > 1 && <td />}
              <td />
            </tr>
            {voices.map((voice) => (
              <Row key={voice.name} voice={voice} view={view} />
            ))}
          </tbody>
        </table>
      </div>
      <Chapter />
      <PadsButton />
    </div>
  );
}

function Row({ voice, view }: { readonly voice: VoiceView; readonly view: PatchView }) {
  const { name, modules, jacks } = voice;
  return (
    <tr>
      <th scope="row">
        <Choose voice={name} />
      </th>
      <td class="count" data-of="modules">
        {modules.length}
      </td>
      <td class="count" data-of="jacks">
        {jacks}
      </td>
      {view.voices.length > 1 && (
        <td>
          <Hear voice={name} />
        </td>
      )}
      <td>
        <Strike voice={voice} view={view} />
      </td>
    </tr>
  );
}

function Choose({ voice }: { readonly voice: string | undefined }) {
  const sheet = useSheet();
  const chosen = useKnown('voice');
  return (
    <button
      type="button"
      class="chapter"
      aria-pressed={chosen === voice}
      onClick={() => sheet.setVoice(voice)}
    >
      {voice ?? 'the whole'}
    </button>
  );
}

function Hear({ voice }: { readonly voice: string }) {
  const sheet = useSheet();
  const solo = useKnown('solo');
  const button = (isAlone: boolean) => {
    const isOn = solo?.voice === voice && solo.isAlone === isAlone;
    const words = isAlone ? 'alone' : 'without';
    return (
      <button
        type="button"
        aria-pressed={isOn}
        aria-label={isAlone ? `Hear ${voice} alone` : `Hear all without ${voice}`}
        onClick={() => sheet.chapters.toggleSolo({ voice, isAlone })}
      >
        {words}
      </button>
    );
  };
  return (
    <span class="pair">
      {button(true)}
      {button(false)}
    </span>
  );
}

interface StrikeProps {
  readonly voice: VoiceView;
  readonly view: PatchView;
}

/** A plain stroke and an accented one of each channel, written as in the patterns. */
function Strike({ voice: { name, channels }, view }: StrikeProps) {
  const keys = strokeKeys(view);
  return (
    <>
      {channels.map(({ module, channel }) => {
        const key = keys.find((one) => one.module === module && one.channel === channel)?.key;
        return (
          <span key={`${module}.${channel}`} class="pair">
            {channels.length > 1 && <span class="quiet">{channel}</span>}
            {[false, true].map((isAccented) => (
              <StrikeButton
                key={String(isAccented)}
                wish={{ voice: name, module, channel, isAccented }}
                letter={key}
              />
            ))}
          </span>
        );
      })}
    </>
  );
}

interface StrikeButtonProps {
  readonly wish: StrokeWish;
  readonly letter: string | undefined;
}

function StrikeButton({ wish, letter }: StrikeButtonProps) {
  const sheet = useSheet();
  const { voice, channel, isAccented } = wish;
  // A mouse strikes as it goes down, which is sooner than the click that follows.
  const isStruck = useRef(false);
  return (
    <button
      type="button"
      class="stroke"
      aria-label={`Strike ${channel}${isAccented ? ', accented' : ''}, as ${voice}`}
      aria-keyshortcuts={letter && (isAccented ? `Shift+${letter}` : letter)}
      title={letter && (isAccented ? `Shift ${letter}` : letter)}
      onPointerDown={({ pointerType, button }) => {
        // A finger may be about to scroll.
        if (pointerType === 'touch' || button !== 0) return;
        isStruck.current = true;
        sheet.chapters.strike(wish);
      }}
      onPointerLeave={() => {
        isStruck.current = false;
      }}
      onClick={() => {
        if (!isStruck.current) sheet.chapters.strike(wish);
        isStruck.current = false;
      }}
    >
      {isAccented ? 'X' : 'x'}
    </button>
  );
}

/** The chosen voice: its level in the mix, and what the page shows of it. */
function Chapter() {
  const chapter = useChapter();
  const view = useKnown('view');
  if (view === undefined || chapter === undefined) return null;
  return (
    <div class="chapter-now">
      <Level chapter={chapter} view={view} />
      <p class="quiet">
        {chapter.channels.length === 0
          ? `No channel starts ${chapter.name}: it sounds by itself, or follows a clock. Its diagram, settings and charts are shown`
          : `The lines of ${chapter.name} in the patterns, its diagram, its settings and its charts are shown`}
        ; “the whole” brings back all.
      </p>
    </div>
  );
}

interface ChapterProps {
  readonly chapter: VoiceView;
  readonly view: PatchView;
}

function Level({ chapter: { name, levels }, view }: ChapterProps) {
  const sheet = useSheet();
  const level = useKnown('level');
  const words =
    level?.voice !== name
      ? 'being measured.'
      : level.isUntold === true
        ? 'its own loudness cannot be measured, since it passes through shared modules that do more than add.'
        : level.lufs === undefined
          ? 'silent.'
          : `${decibels(level.lufs, 1).replace(' dB', ' LUFS')}${level.under === undefined ? '' : `, ${level.under.toFixed(1)} LU under the whole`}.`;
  return (
    <p>
      In the mix: {words}{' '}
      {levels.map(({ module, setting }) => {
        const value = view.modules
          .find((one) => one.name === module)
          ?.settings.find((one) => one.name === setting)?.text;
        return (
          <button
            key={`${module} ${setting}`}
            type="button"
            class="place"
            aria-label={`${module} ${setting} ${value ?? ''}: to the setting`}
            onClick={() => sheet.seek({ type: 'setting', module, setting })}
          >
            {module} {setting} {value}
          </button>
        );
      })}
    </p>
  );
}
