// What comes next of a show: the day its entries close, while a dog may still be entered, or its own.

import { daysBetween, isOn } from "./days.js";

/** {day, words} of what comes next of a show (its values) on `today`; {day: "", words: ""} without a day.
    @param {boolean} isEntered whether all that go there are entered */
export function nextOf(show, isEntered, today) {
  const { day, closing } = show;
  if (closing && closing >= today && !isEntered)
    return { day: closing, words: `Entries close ${until(closing, today)}` };
  if (!day) return { day: "", words: "" };
  if (day <= today) return { day: today, words: isOn(show, today) ? "Today" : "Over" };
  const words = until(day, today);
  return { day, words: words[0].toUpperCase() + words.slice(1) };
}

/** "today", "tomorrow", "in 12 days". */
function until(day, today) {
  const days = daysBetween(today, day);
  return days < 2 ? ["today", "tomorrow"][days] : `in ${days} days`;
}
