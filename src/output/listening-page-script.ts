/** The script of the listening page, as text: it runs in the reader's browser and in nothing else. */

import { chanceOfGuessing, verdictOf } from './listening-page-odds.ts';

export const LISTENING_SCRIPT = `'use strict';
const chanceOfGuessing = ${chanceOfGuessing.toString()};
const verdictOf = ${verdictOf.toString()};

const clips = JSON.parse(document.getElementById('clips').textContent);
const at = (id) => document.getElementById(id);
const say = (words) => { at('status').textContent = words; };

// Playing: one clip sounds at a time, and another takes over at the same place of the loop.

/** A change this slow, in seconds, does not click. */
const FADE = 0.008;
/** Between asking and sounding. */
const AHEAD = 0.03;
let context;
let master;
/** The clip that sounds: its index, source, gain and length. */
let current;
/** The context's time at which the loop last stood, or would have stood, at its start. */
let origin = 0;
/** Counts what is asked to sound or to stop: what was asked for last holds, whatever is ready first. */
let asked = 0;
const chosenFiles = new Map();
const buffers = new Map();

async function bytesOf(clip) {
  if (clip.data) return Uint8Array.from(atob(clip.data), (letter) => letter.charCodeAt(0)).buffer;
  if (chosenFiles.has(clip.file)) return chosenFiles.get(clip.file).arrayBuffer();
  const answer = await fetch(encodeURI(clip.file));
  if (!answer.ok) throw new Error(answer.statusText);
  return answer.arrayBuffer();
}

function awaken() {
  if (context) return;
  context = new AudioContext({ sampleRate: clips[0].sampleRate });
  master = context.createGain();
  master.gain.value = volume();
  master.connect(context.destination);
}

async function bufferOf(index) {
  awaken();
  if (!buffers.has(index)) {
    try {
      buffers.set(index, await context.decodeAudioData(await bytesOf(clips[index])));
    } catch {
      at('files').hidden = false;
      say('The clip could not be read from here. Choose the clips of this folder below.');
      at('chooser').focus();
      return undefined;
    }
  }
  return buffers.get(index);
}

/** Where the loop is, from 0 to 1. */
function place(time) {
  if (!current) return Number(at('position').value) / 1000;
  const share = ((time - origin) / current.length) % 1;
  return share < 0 ? share + 1 : share;
}

async function listen(index, share) {
  const mine = ++asked;
  const buffer = await bufferOf(index);
  if (!buffer) return false;
  await context.resume();
  if (mine !== asked) return false;
  const now = context.currentTime + AHEAD;
  const from = (share ?? place(now)) * buffer.duration;
  const source = context.createBufferSource();
  source.buffer = buffer;
  source.loop = true;
  const gain = context.createGain();
  gain.gain.setValueAtTime(0, now);
  gain.gain.linearRampToValueAtTime(1, now + FADE);
  source.connect(gain).connect(master);
  source.start(now, from);
  fadeOut(now);
  if (share !== undefined || !current || current.length !== buffer.duration) origin = now - from;
  current = { index, source, gain, length: buffer.duration };
  show();
  return true;
}

function fadeOut(now) {
  if (!current) return;
  current.gain.gain.setValueAtTime(1, now);
  current.gain.gain.linearRampToValueAtTime(0, now + FADE);
  current.source.stop(now + FADE);
}

function stop() {
  asked += 1;
  if (!current) return;
  const now = context.currentTime;
  at('position').value = String(Math.round(1000 * place(now)));
  fadeOut(now);
  current = undefined;
  show();
}

function volume() {
  return (Number(at('volume').value) / 100) ** 2;
}

// Showing what sounds. In a blind test nothing is shown.

function show() {
  const index = trial ? undefined : current?.index;
  at('play').textContent = current ? 'Stop' : 'Play';
  at('play').setAttribute('aria-pressed', String(current !== undefined));
  for (const side of ['a', 'b'])
    at('hear-' + side).setAttribute('aria-pressed', String(index !== undefined && index === chosen(side)));
  for (const row of document.querySelectorAll('tr[data-clip]')) {
    const sounds = Number(row.dataset.clip) === index;
    row.classList.toggle('sounds', sounds);
    row.querySelector('.hear').setAttribute('aria-pressed', String(sounds));
  }
  for (const which of ['first', 'second', 'x'])
    at('blind-' + which).setAttribute('aria-pressed', String(trial !== undefined && current !== undefined && trial.heard === which));
  if (!trial) say(index === undefined ? 'Stopped.' : 'Sounding: ' + clips[index].name + '.');
}

function moved() {
  if (current) at('position').value = String(Math.round(1000 * place(context.currentTime)));
  requestAnimationFrame(moved);
}

function chosen(side) {
  return Number(at('side-' + side).value);
}

function hearSide(side) {
  return listen(chosen(side));
}

function toggle() {
  if (current) stop();
  else if (trial) hearBlind(trial.heard);
  else hearSide('a');
}

// The blind test: X is one of the two, drawn by lot each time; the result is told at the end alone, for
// who stops when the score is good proves nothing.

let trial;

function coin() {
  return crypto.getRandomValues(new Uint8Array(1))[0] & 1;
}

async function beginBlind() {
  const pair = [chosen('a'), chosen('b')];
  if (pair[0] === pair[1]) {
    say('Choose two different clips for A and B first.');
    return;
  }
  const { min, max, value } = at('trials');
  const trials = Number(value);
  const isRight = Number.isInteger(trials) && trials >= Number(min) && trials <= Number(max);
  at('trials').setAttribute('aria-invalid', String(!isRight));
  if (!isRight) {
    say('Trials: a whole number from ' + min + ' to ' + max + '.');
    at('trials').focus();
    return;
  }
  // Both are ready before it starts, so that waiting tells nothing.
  for (const index of pair) if (!(await bufferOf(index))) return;
  if (trial) return;
  stop();
  if (coin()) pair.reverse();
  trial = { pair, trials, number: 1, right: 0, x: coin(), heard: 'x' };
  for (const part of document.querySelectorAll('[data-named]')) part.hidden = true;
  at('blind-start').hidden = true;
  at('blind-result').textContent = '';
  at('blind').hidden = false;
  ask();
  at('blind-x').focus();
}

function ask() {
  say('Trial ' + trial.number + ' of ' + trial.trials + '. Listen, then say which of the two X is.');
  at('blind-count').textContent = 'Trial ' + trial.number + ' of ' + trial.trials;
  trial.x = coin();
  trial.heard = 'x';
  trial.isHeard = false;
  show();
}

function hearBlind(which) {
  trial.heard = which;
  if (which === 'x') trial.isHeard = true;
  return listen(trial.pair[which === 'x' ? trial.x : which === 'first' ? 0 : 1]);
}

function answer(which) {
  // Nor does the second of two quick clicks answer for the next X.
  if (!trial.isHeard) {
    say('Hear X before you say which it is.');
    return;
  }
  if (which === trial.x) trial.right += 1;
  stop();
  if (trial.number === trial.trials) endBlind(true);
  else {
    trial.number += 1;
    ask();
  }
}

function endBlind(isDone) {
  const { right, trials, pair } = trial;
  stop();
  trial = undefined;
  for (const part of document.querySelectorAll('[data-named]')) part.hidden = false;
  at('blind').hidden = true;
  at('blind-start').hidden = false;
  const words = isDone
    ? verdictOf(right, trials, chanceOfGuessing(right, trials)) + ' The first was ' + clips[pair[0]].name + ', the second ' + clips[pair[1]].name + '.'
    : 'The test was given up; it shows nothing.';
  at('blind-result').textContent = words;
  show();
  say(words);
  at('begin').focus();
}

// Controls.

at('play').addEventListener('click', toggle);
at('hear-a').addEventListener('click', () => hearSide('a'));
at('hear-b').addEventListener('click', () => hearSide('b'));
for (const side of ['a', 'b'])
  at('side-' + side).addEventListener('change', () => { if (current) hearSide(side); });
at('position').addEventListener('input', () => {
  if (current) listen(current.index, Number(at('position').value) / 1000);
});
at('volume').addEventListener('input', () => {
  if (context) master.gain.setTargetAtTime(volume(), context.currentTime, 0.01);
});
at('chooser').addEventListener('change', () => {
  for (const file of at('chooser').files) chosenFiles.set(file.name, file);
  const missing = clips.filter((clip) => !clip.data && !chosenFiles.has(clip.file));
  say(missing.length === 0
    ? 'All clips are here.'
    : 'Still missing: ' + missing.map((clip) => clip.file).join(', ') + '.');
});
for (const row of document.querySelectorAll('tr[data-clip]')) {
  const index = Number(row.dataset.clip);
  row.querySelector('.hear').addEventListener('click', () => {
    if (current?.index === index) stop();
    else listen(index);
  });
  for (const side of ['a', 'b'])
    row.querySelector('.as-' + side).addEventListener('click', () => {
      at('side-' + side).value = String(index);
      hearSide(side);
    });
}
at('begin').addEventListener('click', beginBlind);
for (const which of ['first', 'second', 'x'])
  at('blind-' + which).addEventListener('click', () => hearBlind(which));
at('answer-first').addEventListener('click', () => answer(0));
at('answer-second').addEventListener('click', () => answer(1));
at('give-up').addEventListener('click', () => endBlind(false));

document.addEventListener('keydown', (event) => {
  if (!at('keys').checked || event.ctrlKey || event.altKey || event.metaKey) return;
  const target = event.target;
  if (event.repeat) return;
  // A letter typed into a list or a number means itself.
  if (target instanceof HTMLSelectElement) return;
  if (target instanceof HTMLInputElement && target.type !== 'range') return;
  const key = event.key.toLowerCase();
  if (key === ' ' && target instanceof HTMLButtonElement) return;
  const keys = trial
    ? { ' ': toggle, 1: () => hearBlind('first'), 2: () => hearBlind('second'), x: () => hearBlind('x') }
    : { ' ': toggle, a: () => hearSide('a'), b: () => hearSide('b') };
  const act = keys[key];
  if (!act) return;
  event.preventDefault();
  act();
});

show();
requestAnimationFrame(moved);
`;
