// The phone's voice: one that lives on the phone itself, or else a soft tone. Nothing is sent anywhere,
// so a voice that is made elsewhere is never used.

const LANGUAGE = "en";
const LATE = 12_000; // ms; some phones never tell that they have finished
const TONES = [523, 659]; // Hz
const TONE = 0.18; // s

let heard = null;
let sound = null;

/** A voice of the phone's own, or null. Some phones tell their voices only after a while.
    @returns {Promise<SpeechSynthesisVoice | null>} */
export async function ownVoice(wait = 700) {
  const speech = globalThis.speechSynthesis;
  if (!speech || !globalThis.SpeechSynthesisUtterance) return null;
  const own = () => speech.getVoices().find((voice) => voice.localService && voice.lang.startsWith(LANGUAGE)) ?? null;
  if (speech.getVoices().length) return own();
  await new Promise((done) => {
    speech.addEventListener?.("voiceschanged", () => done(null), { once: true });
    setTimeout(() => done(null), wait);
  });
  return own();
}

/** Say `words` with `voice`, or sound the tone without one. Done when it was heard, or was hushed. */
export function speak(words, voice) {
  hush();
  return new Promise((done) => {
    const mine = () => {
      clearTimeout(late);
      done(undefined);
    };
    const late = setTimeout(mine, LATE);
    heard = mine;
    if (voice) utter(words, voice, mine);
    else chime(mine);
  });
}

/** Fall silent at once. */
export function hush() {
  globalThis.speechSynthesis?.cancel();
  heard?.();
  heard = null;
}

function utter(words, voice, done) {
  const utterance = new SpeechSynthesisUtterance(words);
  utterance.voice = voice;
  utterance.lang = voice.lang;
  utterance.rate = 0.95;
  utterance.addEventListener("end", done);
  utterance.addEventListener("error", done);
  speechSynthesis.speak(utterance);
}

function chime(done) {
  try {
    sound ??= new AudioContext();
    sound.resume();
    for (const [place, pitch] of TONES.entries()) ring(sound, pitch, sound.currentTime + place * TONE);
  } catch (error) {
    console.warn(error); // Without any sound the large words remain.
  }
  setTimeout(done, TONES.length * TONE * 1000);
}

function ring(context, pitch, at) {
  const [tone, loud] = [context.createOscillator(), context.createGain()];
  tone.frequency.value = pitch;
  loud.gain.setValueAtTime(0, at);
  loud.gain.linearRampToValueAtTime(0.2, at + 0.03);
  loud.gain.linearRampToValueAtTime(0, at + TONE);
  tone.connect(loud).connect(context.destination);
  tone.start(at);
  tone.stop(at + TONE);
}
