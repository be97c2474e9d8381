"use strict";
for (const strip of document.querySelectorAll(".strip")) {
  const all = [...strip.querySelectorAll("figure")];
  const label = document.createElement("label");
  const slider = document.createElement("input");
  slider.type = "range";
  slider.min = 0;
  slider.max = all.length - 1;
  slider.value = all.length - 1;
  label.append("Fill level", slider);
  strip.prepend(label);
  strip.classList.add("one");
  const show = () => {
    all.forEach((f, i) => f.classList.toggle("on", i === Number(slider.value)));
    slider.setAttribute("aria-valuetext", all[slider.value].querySelector("figcaption").textContent);
  };
  slider.addEventListener("input", show);
  show();
}
const findings = [...document.querySelectorAll('tr[id^="action-"]')];
if (findings.length > 1) {
  const bar = document.createElement("div");
  bar.className = "step";
  bar.setAttribute("role", "group");
  bar.setAttribute("aria-label", "Step through the findings");
  const at = document.createElement("span");
  at.setAttribute("aria-live", "polite");
  let now = -1;
  const go = (by) => {
    now = now < 0 && by < 0 ? findings.length - 1 : (now + by + findings.length) % findings.length;
    findings[now].scrollIntoView({ block: "center" });
    findings[now].focus({ preventScroll: true });
    document.dispatchEvent(new CustomEvent("finding", { detail: findings[now].id }));
    at.textContent = "finding " + (now + 1) + " of " + findings.length;
  };
  for (const [text, by] of [["Previous", -1], ["Next", 1]]) {
    const button = document.createElement("button");
    button.textContent = text;
    button.addEventListener("click", () => go(by));
    bar.append(button);
  }
  at.textContent = findings.length + " findings";
  bar.insertBefore(at, bar.lastChild);
  document.body.append(bar);
}
