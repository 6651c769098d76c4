"use strict";
// The dwell by the wall clock, and what a press said. It shows and announces; it decides nothing
// and discards nothing. Without it the page says when to apply, and its buttons work the same.
(() => {
  const STEPS_S = [60, 30, 10]; // announced when so much of the dwell is left
  const SAME_CLOCK_MS = 2000;
  let ticking = 0;

  function say(words) {
    const region = document.getElementById("bench-says");
    if (region && words) region.textContent = words;
  }

  function written(seconds) {
    const whole = Math.abs(seconds);
    const text = `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
    return seconds < 0 ? `+${text}` : text;
  }

  function countDwell() {
    clearInterval(ticking);
    const dwell = document.getElementById("dwell");
    if (!dwell) return;
    const figure = document.getElementById("dwell-left");
    const name = document.getElementById("dwell-name");
    const endsAt = Date.parse(dwell.dataset.endsAt);
    const skew = Date.parse(dwell.dataset.now) - Date.now();
    const correction = Math.abs(skew) > SAME_CLOCK_MS ? skew : 0; // another device's clock
    let before = Infinity;

    function tick() {
      const left = Math.ceil((endsAt - Date.now() - correction) / 1000);
      if (left === before) return;
      figure.textContent = written(left);
      if (left <= 0 && !dwell.hasAttribute("data-over")) {
        dwell.setAttribute("data-over", "");
        name.textContent = "dwell over by";
        say("The dwell is over. Apply the igniter.");
      }
      const step = STEPS_S.find((at) => before > at && left <= at && left > at - 2);
      if (step !== undefined && before !== Infinity) say(`${step} seconds left.`);
      before = left;
    }

    tick();
    ticking = setInterval(tick, 200);
  }

  document.addEventListener("htmx:after:swap", () => {
    if (!document.getElementById("bench-form")) return; // the session ended: sign in first
    document.getElementById("no-answer").hidden = true;
    countDwell();
    say(document.getElementById("bench-form").dataset.says);
    const news = document.querySelector("#bench [role=alert]") ?? document.querySelector(".now");
    news.scrollIntoView({ block: "nearest" });
    if (document.activeElement === document.body) {
      document.getElementById("do-now").focus({ preventScroll: true });
    }
  });
  document.addEventListener("htmx:error", () => {
    document.getElementById("no-answer").hidden = false;
  });
  countDwell();
})();
