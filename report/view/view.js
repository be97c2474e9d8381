"use strict";
// The mold in 3D. The state is told in data-attributes of #view, and can be set in the
// address: #finding=2&cut=y:0.4&level=0.5&tilt=15@90&turn=40,20&hide=top
(async () => {
  const root = document.getElementById("view");
  if (!root) return;
  const say = (text) => { root.querySelector(".said").textContent = text; };
  const data = await unpack(root.querySelector("script").textContent);
  const head = data.head;
  const el = (name, attributes, ...inside) => {
    const e = document.createElement(name);
    for (const k in attributes) e.setAttribute(k, attributes[k]);
    e.append(...inside);
    return e;
  };
  const state = { tilt: head.tilts.findIndex((t) => t.mark?.startsWith("chosen")), level: 1, axis: "y", cut: 0.5, flip: false, finding: -1, hidden: new Set() };
  const box = { min: [Infinity, Infinity, Infinity], max: [-Infinity, -Infinity, -Infinity] };
  for (const b of data.bodies) for (let i = 0; i < b.at.length; i++) {
    box.min[i % 3] = Math.min(box.min[i % 3], b.at[i]);
    box.max[i % 3] = Math.max(box.max[i % 3], b.at[i]);
  }
  const middle = box.min.map((x, i) => (x + box.max[i]) / 2);
  const size = Math.hypot(...box.max.map((x, i) => x - box.min[i]));
  // The cut shows most where it holds the way up.
  state.axis = ["y", "x", "z"].reduce((a, b) => (Math.abs(head.up["xyz".indexOf(b)]) < Math.abs(head.up["xyz".indexOf(a)]) - 1e-3 ? b : a));

  // ---- the controls
  const stage = root.querySelector(".stage");
  const controls = root.querySelector(".controls");
  const group = (title, ...inside) => { const f = el("fieldset", {}, el("legend", {}, title), ...inside); controls.append(f); return f; };
  const range = (label, max, value, act) => {
    const input = el("input", { type: "range", min: 0, max, step: 1 });
    input.value = value;
    input.addEventListener("input", () => act(Number(input.value)));
    return [el("label", {}, label, input), input];
  };
  const axis = el("select", {}, ...["x", "y", "z"].map((a) => el("option", { value: a }, "across " + a.toUpperCase())), el("option", { value: "" }, "no cut"));
  axis.addEventListener("change", () => { state.axis = axis.value; draw(); });
  const [cutLabel, cut] = range("Where", 200, 100, (v) => { state.cut = v / 200; draw(); });
  const flip = el("input", { type: "checkbox" });
  flip.addEventListener("change", () => { state.flip = flip.checked; draw(); });
  group("Cut", el("label", {}, "Plane", axis), cutLabel, el("label", {}, flip, "show the other side"));
  const [levelLabel, level] = range("Resin in", 100, 100, (v) => { state.level = v / 100; draw(); tellLevel(); });
  const pouring = el("p", { class: "note" });
  const fillGroup = group("Fill", levelLabel, pouring);
  const shown = group("Show");
  data.bodies.forEach((b, i) => {
    if (b.kind !== "half" && b.kind !== "part") return;
    const tick = el("input", { type: "checkbox" });
    tick.checked = true;
    b.tick = tick;
    tick.addEventListener("change", () => { tick.checked ? state.hidden.delete(i) : state.hidden.add(i); draw(); });
    shown.append(el("label", {}, tick, b.name));
  });
  const findings = el("select", {}, el("option", { value: -1 }, "none chosen"), ...head.findings.map((f, i) => el("option", { value: i }, f.id + " " + f.word + ": " + f.title)));
  findings.addEventListener("change", () => choose(Number(findings.value)));
  const step = (by) => () => choose((state.finding + by + head.findings.length + (state.finding < 0 && by < 0 ? 1 : 0)) % head.findings.length);
  const previous = el("button", { type: "button" }, "Previous"), next = el("button", { type: "button" }, "Next");
  previous.addEventListener("click", step(-1));
  next.addEventListener("click", step(1));
  if (head.findings.length) group("Findings", el("label", {}, "Finding", findings), previous, next);
  const tilts = el("select", {}, ...head.tilts.map((t, i) => el("option", { value: i }, `${t.flag.replace("--tilt ", "")}: ${t.air} in ${t.count} pocket${t.count === 1 ? "" : "s"}${t.mark ? ", " + t.mark : ""}`)));
  tilts.addEventListener("change", () => stand(Number(tilts.value)));
  const disc = head.tilts.length ? tiltDisc() : null;
  const pockets = el("table", { class: "pockets" });
  if (disc) group("Tilt", el("label", {}, "Stands at", tilts), disc.svg, pockets);

  function tiltDisc() {
    const ns = "http://www.w3.org/2000/svg";
    const make = (name, attributes) => { const e = document.createElementNS(ns, name); for (const k in attributes) e.setAttribute(k, attributes[k]); return e; };
    const svg = make("svg", { viewBox: "-110 -110 220 220", class: "disc", "aria-hidden": "true" });
    svg.append(make("circle", { r: 104, fill: "none", stroke: "#c4ccd1" }));
    const most = Math.max(head.limit, ...head.tilts.map((t) => t.angle), 1);
    const dots = head.tilts.map((t, i) => {
      const r = 100 * t.angle / most, a = t.side * Math.PI / 180;
      const dot = make("circle", { cx: (r * Math.cos(a)).toFixed(2), cy: (-r * Math.sin(a)).toFixed(2), r: 5, fill: t.ink, stroke: "#1e262c", "stroke-width": 0.6 });
      const title = make("title", {});
      title.textContent = `${t.words}: ${t.air} in ${t.count} pockets`;
      dot.append(title);
      dot.addEventListener("click", () => stand(i));
      svg.append(dot);
      return dot;
    });
    return { svg, dots };
  }

  // ---- the picture
  let gl = null;
  try { gl = picture(); } catch (e) { root.dataset.fault = e.message; }
  if (!gl) {
    stage.replaceChildren(el("p", {}, "This browser draws no 3D (WebGL 2). The pictures below show the mold; the tilts and findings here can still be read."));
  }

  function picture() {
    const T = THREE;
    const ink = (c) => new T.Vector3(...[1, 3, 5].map((i) => parseInt(c.slice(i, i + 2), 16) / 255)); // as given, in no colour space
    const canvas = el("canvas", { tabindex: 0, role: "img", "aria-label": "The mold in 3D. Arrow keys turn it, plus and minus bring it nearer or farther." });
    const renderer = new T.WebGLRenderer({ canvas, antialias: true, preserveDrawingBuffer: true });
    stage.append(canvas);
    const scene = new T.Scene(), mold = new T.Group();
    scene.background = new T.Color("#ffffff");
    mold.matrixAutoUpdate = false;
    scene.add(mold);
    const camera = new T.OrthographicCamera(-1, 1, 1, -1, -4 * size, 8 * size);
    camera.up.set(0, 0, 1);
    const common = { cutN: { value: new T.Vector3() }, cutD: { value: 0 }, cutOn: { value: false }, eye: { value: new T.Vector3() }, level: { value: 1 },
      moments: { value: null }, gridX: { value: new T.Vector3() }, gridY: { value: new T.Vector3() }, gridZ: { value: new T.Vector3() },
      gridFirst: { value: new T.Vector3() }, gridStep: { value: 1 }, gridN: { value: new T.Vector3(1, 1, 1) }, poured: { value: false },
      inkResin: { value: ink(head.inks.Resin) }, inkAir: { value: ink(head.inks.Air) } };
    if (data.moments) {
      const g = head.moments, texture = new T.Data3DTexture(data.moments, ...g.n);
      texture.format = 1028; // red
      texture.needsUpdate = true;
      common.moments.value = texture;
      g.axes.forEach((a, i) => common["grid" + "XYZ"[i]].value.set(...a));
      common.gridFirst.value.set(...g.first);
      common.gridStep.value = g.step;
      common.gridN.value.set(...g.n);
    }
    const vertex = "varying vec3 at; void main() { at = position; gl_Position = projectionMatrix * modelViewMatrix * vec4(position, 1.0); }";
    // Behind the cut the first surface along a line of sight decides: its back means that
    // the line enters the body at the cut, where the cut face is drawn. Bodies touch, so a
    // back stands a little before a front at the same place: 1/4000 of the mold's size, and
    // as much as a channel is drawn wider than its bore, 1/250.
    const fragment = `precision highp sampler3D;
      uniform vec3 cutN, eye, gridX, gridY, gridZ, gridFirst, gridN, color, inkResin, inkAir; uniform float cutD, level, gridStep, hatch, before; uniform bool cutOn, poured, resin, full;
      uniform sampler3D moments; varying vec3 at;
      float moment(vec3 p) {
        vec3 q = floor((vec3(dot(gridX, p), dot(gridY, p), dot(gridZ, p)) - gridFirst) / gridStep + 0.5);
        float best = 0.0;
        for (int k = 0; k < 7; k++) {
          vec3 d = k == 0 ? vec3(0.0) : k < 3 ? vec3(float(2*k-3), 0.0, 0.0) : k < 5 ? vec3(0.0, float(2*k-7), 0.0) : vec3(0.0, 0.0, float(2*k-11));
          vec3 n = q + d;
          if (any(lessThan(n, vec3(0.0))) || any(greaterThanEqual(n, gridN))) continue;
          best = floor(texture(moments, (n + 0.5) / gridN).r * 255.0 + 0.5);
          if (best > 0.5) break;
        }
        return best;
      }
      void main() {
        if (cutOn && dot(at, cutN) > cutD) discard;
        vec3 n = normalize(cross(dFdx(at), dFdy(at)));
        if (dot(n, eye) < 0.0) n = -n;
        bool cap = !gl_FrontFacing && cutOn && dot(eye, cutN) > 1e-4;
        vec3 p = cap ? at + eye * ((cutD - dot(at, cutN)) / dot(eye, cutN)) : at - n * 0.5 * gridStep;
        vec3 c = color;
        float light = cap ? 1.0 : 0.55 + 0.45 * dot(n, eye);
        if (resin) {
          c = inkResin;
          float m = full || !poured ? 1.0 : moment(p);
          if (m > 250.5) { c = inkAir; if (cap && mod(floor(gl_FragCoord.x / 3.0) + floor(gl_FragCoord.y / 3.0), 2.0) < 0.5) c *= 0.7; }
          else if (m > 0.5 && (m - 1.0) / 249.0 > level + 1e-4) c = vec3(0.96);
        } else if (cap && hatch != 0.0 && mod(gl_FragCoord.x + hatch * gl_FragCoord.y, 9.0) < 1.2) c *= 0.55;
        gl_FragColor = vec4(c * light, 1.0);
        gl_FragDepth = gl_FragCoord.z - (gl_FrontFacing ? 0.0 : before);
      }`;
    data.bodies.forEach((b) => {
      const shape = new T.BufferGeometry();
      shape.setAttribute("position", new T.BufferAttribute(b.at, 3));
      shape.setIndex(new T.BufferAttribute(b.corners, 1));
      b.solid = new T.Mesh(shape, new T.ShaderMaterial({ vertexShader: vertex, fragmentShader: fragment, side: T.DoubleSide,
        uniforms: { ...common, color: { value: ink(b.color) }, hatch: { value: b.hatch }, resin: { value: b.kind !== "half" }, full: { value: b.kind === "gate" },
          before: { value: (b.kind === "gate" || b.kind === "bore" ? 1 / 250 : 1 / 4000) / 12 } } }));
      b.solid.frustumCulled = false;
      mold.add(b.solid);
    });
    const air = new T.Mesh(new T.BufferGeometry(), new T.ShaderMaterial({ vertexShader: vertex, transparent: true, depthTest: false, side: T.DoubleSide,
      uniforms: { color: { value: ink(head.inks.Air) } }, fragmentShader: "uniform vec3 color; varying vec3 at; void main() { gl_FragColor = vec4(color * 0.8, 0.6); }" }));
    air.frustumCulled = false;
    air.renderOrder = 1;
    mold.add(air);
    const orbit = new T.OrbitControls(camera, canvas);
    orbit.enableDamping = false;
    const look = (azimuth, height) => {
      const a = azimuth * Math.PI / 180, h = height * Math.PI / 180;
      camera.position.copy(orbit.target).add(new T.Vector3(Math.cos(h) * Math.cos(a), Math.cos(h) * Math.sin(a), Math.sin(h)).multiplyScalar(2 * size));
      orbit.update();
    };
    const place = (p) => new T.Vector3(...p).applyMatrix4(mold.matrix);
    const overlay = root.querySelector(".marks");
    const marks = head.findings.map((f, i) => {
      if (!f.at) return null;
      const b = el("button", { type: "button", class: "mark", "aria-label": `Finding ${f.id}: ${f.title}`, style: `background:${f.fill};color:${f.ink};border-color:${f.ring}` }, String(f.id));
      b.addEventListener("click", () => choose(i));
      overlay.append(b);
      return b;
    });
    const triad = root.querySelector(".triad"), bar = root.querySelector(".bar");
    let wide = 0, high = 0;
    const measure = () => {
      wide = stage.clientWidth;
      high = Math.max(260, Math.min(700, Math.round(wide * 0.9)));
      renderer.setPixelRatio(Math.min(window.devicePixelRatio || 1, 2));
      renderer.setSize(wide, high);
      const k = 0.46 * size, a = wide / high;
      Object.assign(camera, { left: -k * Math.max(a, 1), right: k * Math.max(a, 1), top: k * Math.max(a, 1) / a, bottom: -k * Math.max(a, 1) / a });
      camera.updateProjectionMatrix();
    };
    const inverse = new T.Matrix4(), eye = new T.Vector3();
    const render = () => {
      inverse.copy(mold.matrix).invert();
      eye.copy(camera.position).sub(orbit.target).normalize().transformDirection(inverse);
      common.eye.value.copy(eye);
      renderer.render(scene, camera);
      marks.forEach((b, i) => {
        if (!b) return;
        const p = place(head.findings[i].at).project(camera);
        b.hidden = Math.abs(p.x) > 1 || Math.abs(p.y) > 1 || head.findings[i].pour && !chosen();
        b.style.left = (p.x + 1) / 2 * wide + "px";
        b.style.top = (1 - p.y) / 2 * high + "px";
        b.classList.toggle("on", i === state.finding);
      });
      triad.replaceChildren(...axes());
      const perMM = wide * camera.zoom / (camera.right - camera.left);
      let mm = Math.pow(10, Math.floor(Math.log10(160 / perMM)));
      for (const k of [5, 2]) if (mm * k * perMM <= 160) { mm *= k; break; }
      bar.style.width = mm * perMM + "px";
      bar.textContent = Number(mm.toPrecision(1)) + " mm";
    };
    const axes = () => {
      const ns = "http://www.w3.org/2000/svg", out = [];
      const arrow = (v, name, ink) => {
        const d = v.clone().transformDirection(camera.matrixWorldInverse);
        const line = document.createElementNS(ns, "line"), text = document.createElementNS(ns, "text");
        for (const [k, x] of Object.entries({ x1: 0, y1: 0, x2: 26 * d.x, y2: -26 * d.y, stroke: ink, "stroke-width": 2 })) line.setAttribute(k, x);
        for (const [k, x] of Object.entries({ x: 34 * d.x - 3, y: -34 * d.y + 4, "font-size": 10, fill: ink })) text.setAttribute(k, x);
        text.textContent = name;
        out.push(line, text);
      };
      for (const [n, v] of [["X", [1, 0, 0]], ["Y", [0, 1, 0]], ["Z", [0, 0, 1]]]) arrow(new T.Vector3(...v).transformDirection(mold.matrix), n, "#1e262c");
      arrow(new T.Vector3(0, 0, -1), "gravity", "#9c1c1c");
      return out;
    };
    orbit.addEventListener("change", render);
    canvas.addEventListener("keydown", (e) => {
      const p = camera.position.clone().sub(orbit.target);
      let a = Math.atan2(p.y, p.x) * 180 / Math.PI, h = Math.asin(p.z / p.length()) * 180 / Math.PI;
      switch (e.key) {
        case "ArrowLeft": a -= 6; break;
        case "ArrowRight": a += 6; break;
        case "ArrowUp": h = Math.min(h + 6, 89); break;
        case "ArrowDown": h = Math.max(h - 6, -89); break;
        case "+": case "=": camera.zoom *= 1.2; break;
        case "-": camera.zoom /= 1.2; break;
        default: return;
      }
      e.preventDefault();
      camera.updateProjectionMatrix();
      look(a, h);
      render();
    });
    new ResizeObserver(() => { measure(); render(); }).observe(stage);
    orbit.target.set(0, 0, 0);
    measure();
    return {
      start(turn) { orbit.target.copy(place(middle)); look(...(turn ?? this.best())); },
      // Looking at the cut from a little aside and above.
      best() {
        const n = normal() ?? [0.6, -1, 0], w = new T.Vector3(...n).transformDirection(mold.matrix);
        return [Math.atan2(w.y, w.x) * 180 / Math.PI + 25, 22];
      },
      stand(up, list) {
        const [X, Y, Z] = frame(up);
        mold.matrix.set(...X, 0, ...Y, 0, ...Z, 0, 0, 0, 0, 1);
        mold.matrixWorldNeedsUpdate = true;
        const b = boxes(list, up);
        air.geometry.dispose();
        air.geometry = new T.BufferGeometry();
        air.geometry.setAttribute("position", new T.BufferAttribute(b.at, 3));
        air.geometry.setIndex(new T.BufferAttribute(b.corners, 1));
        air.visible = b.at.length > 0;
      },
      goTo(p, near) { // keeps the way the camera looks
        const d = camera.position.clone().sub(orbit.target);
        orbit.target.copy(place(p));
        camera.position.copy(orbit.target).add(d);
        camera.zoom = near ? 2.6 : 1;
        camera.updateProjectionMatrix();
        orbit.update();
      },
      draw() {
        const n = normal();
        common.cutOn.value = n !== null;
        if (n) {
          common.cutN.value.set(...n);
          const i = "xyz".indexOf(state.axis);
          common.cutD.value = n[i] * (box.min[i] + state.cut * (box.max[i] - box.min[i]));
        }
        common.level.value = state.level;
        common.poured.value = data.moments !== null && chosen();
        data.bodies.forEach((b, i) => { b.solid.visible = !state.hidden.has(i); });
        render();
      },
    };
  }

  // ---- what is drawn
  function normal() {
    if (!state.axis) return null;
    const n = [0, 0, 0];
    n["xyz".indexOf(state.axis)] = (state.axis === "y") === state.flip ? 1 : -1; // from the front, the right and above
    return n;
  }
  function chosen() { return state.tilt < 0 || !!head.tilts[state.tilt].mark?.startsWith("chosen"); }

  function draw() {
    if (gl) gl.draw();
    Object.assign(root.dataset, { finding: state.finding < 0 ? "" : head.findings[state.finding].id, cut: state.axis ? state.axis + ":" + state.cut : "", level: state.level,
      tilt: state.tilt < 0 ? "" : head.tilts[state.tilt].flag.replace("--tilt ", ""), pockets: state.tilt < 0 ? "" : head.tilts[state.tilt].pockets.length, hidden: state.hidden.size });
  }

  function tellLevel() {
    if (!chosen()) {
      pouring.textContent = "Levels are worked out at the chosen tilt.";
      return;
    }
    const ml = head.ml * state.level;
    const ports = head.ports.filter((p) => p.drips !== null).map((p) => p.name + (p.covered !== null && state.level >= p.covered ? " is covered: plug it" : state.level >= p.drips ? " drips" : " is open"));
    pouring.textContent = `${ml.toFixed(2)} of ${head.ml.toFixed(2)} ml are in. ${ports.join("; ")}`;
    level.setAttribute("aria-valuetext", pouring.textContent);
  }

  function stand(i) {
    state.tilt = i;
    const t = i < 0 ? null : head.tilts[i];
    if (t) {
      tilts.value = i;
      disc.dots.forEach((d, k) => { d.setAttribute("r", k === i ? 8 : 5); d.setAttribute("stroke-width", k === i ? 2.4 : head.tilts[k].mark ? 1.6 : 0.6); });
      pockets.replaceChildren(el("caption", {}, `${t.words}: ${t.air} in ${t.count} pocket${t.count === 1 ? "" : "s"}${t.mark ? " (" + t.mark + ")" : ""}`),
        ...t.pockets.map((p) => el("tr", {}, el("td", {}, p.air), el("td", {}, "top at " + p.at.map((x) => x.toFixed(1)).join(", ")))));
    }
    fillGroup.disabled = !chosen() || !head.moments;
    tellLevel();
    if (gl) gl.stand(t ? t.up : head.up, t ? t.pockets : []);
    draw();
    if (t) say(`Tilt ${t.words}: ${t.air} of air in ${t.count} pockets.`);
  }

  function choose(i) {
    state.finding = i;
    findings.value = i;
    if (i < 0) { if (gl) gl.goTo(middle, false); draw(); return; }
    const f = head.findings[i];
    if (f.pour && !chosen()) stand(head.tilts.findIndex((t) => t.mark?.startsWith("chosen")));
    if (f.at && state.axis) {
      const k = "xyz".indexOf(state.axis);
      state.cut = Math.min(1, Math.max(0, (f.at[k] - box.min[k]) / (box.max[k] - box.min[k])));
      cut.value = Math.round(state.cut * 200);
    }
    if (gl) gl.goTo(f.at ?? middle, !!f.at);
    draw();
    say(`Finding ${f.id}, ${f.word}: ${f.title}${f.place ? ", " + f.place : ""}.`);
  }

  // ---- the start
  const asked = new URLSearchParams(location.hash.includes("=") ? location.hash.slice(1) : "");
  if (asked.has("cut")) {
    const [a, x] = asked.get("cut").split(":");
    state.axis = "xyz".includes(a) ? a : "";
    if (x >= 0 && x <= 1) state.cut = Number(x);
  }
  axis.value = state.axis;
  cut.value = Math.round(state.cut * 200);
  if (asked.get("level") >= 0 && asked.get("level") <= 1 && asked.has("level")) state.level = Number(asked.get("level"));
  level.value = Math.round(state.level * 100);
  const wanted = head.tilts.findIndex((t) => t.flag.replace("--tilt ", "") === asked.get("tilt"));
  for (const name of asked.getAll("hide")) data.bodies.forEach((b, i) => { if (b.name === name && b.tick) { b.tick.checked = false; state.hidden.add(i); } });
  stand(wanted >= 0 ? wanted : state.tilt);
  tellLevel();
  if (gl) gl.start(asked.get("turn")?.split(",").map(Number));
  draw();
  const one = head.findings.findIndex((f) => String(f.id) === asked.get("finding"));
  if (one >= 0) choose(one);
  document.addEventListener("finding", (e) => { const i = head.findings.findIndex((f) => f.row === e.detail); if (i >= 0) choose(i); });
  Object.assign(root.dataset, { ready: gl ? "drawn" : "told", facets: data.bodies.reduce((n, b) => n + b.corners.length / 3, 0) });

  // ---- the data
  async function unpack(text) {
    const packed = Uint8Array.from(atob(text.trim()), (c) => c.charCodeAt(0));
    const bytes = new Uint8Array(await new Response(new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"))).arrayBuffer());
    const length = new DataView(bytes.buffer).getUint32(0, true);
    const head = JSON.parse(new TextDecoder().decode(bytes.subarray(4, 4 + length)));
    let i = 4 + length;
    const whole = () => { let x = 0, by = 1; for (;;) { const b = bytes[i++]; x += (b & 127) * by; if (b < 128) return x; by *= 128; } };
    const signed = () => { const x = whole(); return x % 2 ? -(x + 1) / 2 : x / 2; };
    const bodies = head.bodies.map((b) => {
      const corners = new Uint32Array(3 * b.facets), at = new Float32Array(3 * b.vertices);
      let used = 0;
      for (let k = 0; k < corners.length; k++) {
        const back = whole();
        corners[k] = back === 0 ? used++ : used - back;
      }
      for (let a = 0; a < 3; a++) {
        let last = 0;
        for (let k = 0; k < b.vertices; k++) at[3 * k + a] = head.low[a] + head.step * (last += signed());
      }
      return { ...b, corners, at };
    });
    let moments = null;
    if (head.moments) {
      const n = head.moments.n[0] * head.moments.n[1] * head.moments.n[2];
      moments = bytes.slice(i, i + n);
      i += n;
    }
    for (const t of head.tilts) for (const p of t.pockets) {
      const last = [0, 0, 0, 0];
      p.columns = [];
      for (let k = 0; k < p.n; k++) p.columns.push(last.map((_, a) => (last[a] += signed()) * head.column));
    }
    return { head, bodies, moments };
  }

  // frame returns the axes in which up is the third: the shortest turn.
  function frame([a, b, c]) {
    if (c < -1 + 1e-12) return [[1, 0, 0], [0, -1, 0], [0, 0, -1]];
    const k = 1 / (1 + c);
    return [[c + k * b * b, -k * a * b, -a], [-k * a * b, c + k * a * a, -b], [a, b, c]];
  }

  // boxes draws the columns of pockets, which stand on a lattice turned about up by the
  // angle with cosine 35/37.
  function boxes(list, up) {
    const [X, Y, Z] = frame(up), turned = [X.map((x, i) => (35 * x + 12 * Y[i]) / 37), X.map((x, i) => (35 * Y[i] - 12 * x) / 37), Z];
    const at = [], corners = [];
    for (const p of list) for (const [x, y, lo, hi] of p.columns ?? []) {
      const n = at.length / 3, r = p.width / 2;
      for (const u of [x - r, x + r]) for (const v of [y - r, y + r]) for (const w of [lo, hi])
        for (let i = 0; i < 3; i++) at.push(u * turned[0][i] + v * turned[1][i] + w * turned[2][i]);
      for (const f of [0, 1, 3, 0, 3, 2, 4, 6, 7, 4, 7, 5, 0, 4, 5, 0, 5, 1, 2, 3, 7, 2, 7, 6, 0, 2, 6, 0, 6, 4, 1, 5, 7, 1, 7, 3]) corners.push(n + f);
    }
    return { at: new Float32Array(at), corners: new Uint32Array(corners) };
  }
})();
