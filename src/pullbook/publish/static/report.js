"use strict";
// What a reader with scripts gets on top of the page: units remembered, builds picked, charts to hover over and zoom.
// The chart library stands at the end of the file as plain text, so that the page is on the screen before it is read.
(() => {
  const root = document.documentElement;
  const store = {
    get(key) { try { return localStorage.getItem(key); } catch { return null; } },
    set(key, value) { try { localStorage.setItem(key, value); } catch { /* a file:// page may have no storage */ } },
  };
  const units = [...document.querySelectorAll('input[name="units"]')];
  const system = () => units.find((input) => input.checked)?.value ?? root.dataset.system;
  const remembered = units.find((input) => input.value === store.get("pullbook.units"));
  if (remembered) remembered.checked = true;

  const charts = new Map();      // key -> {figure, plot, spec}
  const shown = { range: null }; // the one rpm range of the page
  let data = {};

  // ---- colours: "ink:build-1/0.2" becomes the theme's colour ------------------------------------------------------
  const colour = (token, style) => {
    const [name, alpha] = token.slice(4).split("/");
    const hex = style.getPropertyValue(`--${name}`).trim();
    if (alpha === undefined) return hex;
    const [r, g, b] = [1, 3, 5].map((at) => parseInt(hex.slice(at, at + 2), 16));
    return `rgba(${r},${g},${b},${alpha})`;
  };
  const inked = (value, style) => {
    if (typeof value === "string") return value.startsWith("ink:") ? colour(value, style) : value;
    if (Array.isArray(value)) return value.map((part) => inked(part, style));
    if (value && typeof value === "object")
      return Object.fromEntries(Object.entries(value).map(([key, part]) => [key, inked(part, style)]));
    return value;
  };

  // ---- which builds are shown -------------------------------------------------------------------------------------
  const toggles = [...document.querySelectorAll(".toggle")];
  const hidden = () => new Set(toggles.filter((box) => !box.checked).map((box) => box.value));
  const panelShown = (panel, off) => panel.builds.length !== 2 || !panel.builds.some((name) => off.has(name));
  const traceShown = (trace, off) => !trace.meta.builds.some((name) => off.has(name));

  // ---- labels at the ends of the curves, moved apart (pool adjacent violators, as in ticks.py) ---------------------
  const spread = (wanted, gap, low, high) => {
    const count = wanted.length;
    if (count > 1) gap = Math.min(gap, (high - low) / (count - 1));
    const order = wanted.map((_, i) => i).sort((a, b) => wanted[a] - wanted[b]);
    const pools = [];
    order.forEach((index, place) => {
      pools.push([wanted[index] - place * gap, 1]);
      while (pools.length > 1 && pools.at(-2)[0] > pools.at(-1)[0]) {
        const [mean, size] = pools.pop(), [before, number] = pools.pop();
        pools.push([(before * number + mean * size) / (number + size), number + size]);
      }
    });
    const flat = pools.flatMap(([mean, size]) => Array(size).fill(mean));
    const top = high - (count - 1) * gap, placed = [];
    order.forEach((index, place) => { placed[index] = Math.min(Math.max(flat[place], low), top) + place * gap; });
    return placed;
  };
  const valueAt = (trace, x) => {
    let at = trace.x.findIndex((value) => value >= x);
    if (at < 0) at = trace.x.length - 1;
    if (at === 0 || trace.x[at] === x) return trace.y[at];
    const [x0, x1, y0, y1] = [trace.x[at - 1], trace.x[at], trace.y[at - 1], trace.y[at]];
    return y0 === null || y1 === null ? null : y0 + (y1 - y0) * (x - x0) / (x1 - x0);
  };

  // ---- a figure for the theme, the range, the width and the builds of this moment ---------------------------------
  const composed = (spec, width) => {
    const figure = inked(JSON.parse(JSON.stringify(spec)), getComputedStyle(root));
    const off = hidden(), { layout, panels } = figure;
    const narrow = width < 620;
    const visible = panels.filter((panel) => panelShown(panel, off));
    const scale = narrow ? 0.72 : 1;
    const tall = figure.panel * scale, gap = figure.gap;
    const height = visible.reduce((sum, panel) => sum + tall * panel.weight + gap, -gap);
    layout.height = height + layout.margin.t + layout.margin.b;
    if (narrow) Object.assign(layout.margin, { l: 44, r: 60 });
    // On a touch screen dragging has to scroll the page; the fields above the chart set the range.
    if (matchMedia("(pointer: coarse)").matches) layout.dragmode = false;
    const range = shown.range ?? layout.xaxis.range;
    layout.xaxis.range = [...range];
    if (shown.range) {  // the ticks of the whole range are too few for a part of it
      delete layout.xaxis.tickvals; delete layout.xaxis.ticktext; delete layout.xaxis.minor.tickvals;
      layout.xaxis.nticks = narrow ? 4 : 7; layout.xaxis.tickformat = ",";
    }
    let below = 0;
    const domains = {};
    [...panels].reverse().forEach((panel) => {
      const axis = layout[axisName(panels.indexOf(panel))];
      if (!visible.includes(panel)) { axis.visible = false; axis.domain = [0, 0.001]; return; }
      domains[panel.key] = axis.domain = [below / height, Math.min((below + tall * panel.weight) / height, 1)];
      below += tall * panel.weight + gap;
    });
    layout.xaxis.anchor = "y" + (panels.indexOf(visible.at(-1)) || "").toString().replace(/\d+/, (n) => +n + 1);
    figure.data.forEach((trace) => {
      trace.visible = traceShown(trace, off);
      if (narrow && trace.meta.part === "marker") trace.mode = "markers"; // a sentence says it too
    });
    layout.annotations = layout.annotations.filter((note) => {
      const [kind, key, line] = JSON.parse(note.name);
      if (kind === "axis") return true;
      if (!(key in domains)) return false;
      if (kind === "title") {
        note.y = domains[key][1];
        note.xshift = 4 - layout.margin.l;
        if (narrow) Object.assign(note, { text: panels.find((panel) => panel.key === key).narrow, align: "left", yshift: 11 });
        return true;
      }
      note.trace = figure.data.find((one) => one.meta.panel === key && one.meta.key === line && one.meta.part === "line");
      return note.trace.visible;
    });
    panels.forEach((panel, index) => {
      const notes = layout.annotations.filter((note) => note.trace?.meta.panel === panel.key);
      const axis = layout[axisName(index)], tallest = tall * panel.weight;
      const perUnit = tallest / (axis.range[1] - axis.range[0]);
      const known = notes.filter((note) => valueAt(note.trace, range[1]) !== null);
      const wanted = known.map((note) => (axis.range[1] - valueAt(note.trace, range[1])) * perUnit);
      spread(wanted, 17, 7, tallest - 7).forEach((place, i) => {
        const note = known[i], { color, dash } = note.trace.line, at = valueAt(note.trace, range[1]);
        note.y = axis.range[1] - place / perUnit;
        note.xshift = narrow ? 18 : 40;
        layout.shapes.push({ type: "path", path: `M0 ${at}L8 ${note.y}L${narrow ? 16 : 36} ${note.y}`, xref: "paper",
          xsizemode: "pixel", xanchor: 1, yref: note.yref, line: { color, dash, width: 1.8 } });
      });
      notes.forEach((note) => { if (narrow) note.text = `<b>${note.hovertext}</b>`; });
    });
    layout.annotations.forEach((note) => { delete note.trace; delete note.hovertext; });
    layout.shapes = layout.shapes.filter((shape) => {
      const index = shape.yref === "y" ? 0 : Number(shape.yref.slice(1)) - 1;
      return panels[index].key in domains;
    });
    return figure;
  };
  const axisName = (index) => (index === 0 ? "yaxis" : `yaxis${index + 1}`);

  const draw = (chart) => {
    const width = chart.figure.clientWidth;
    const { data: traces, layout, config } = composed(data[chart.key][system()], width);
    chart.plot.style.height = `${layout.height}px`;
    return Plotly.react(chart.plot, traces, { ...layout, autosize: true }, config);
  };
  const drawAll = () => charts.forEach((chart) => draw(chart));
  const form = document.querySelector(".range");
  const [from, to] = form.querySelectorAll("input");
  const setRange = (range) => {
    shown.range = range;
    if (range) [from.value, to.value] = range.map(Math.round);
    else { from.value = from.defaultValue; to.value = to.defaultValue; }
    form.querySelector(".reset").disabled = !range;
    drawAll();
  };
  const typed = () => {
    const [low, high] = [from, to].map((input) => Math.min(Math.max(Number(input.value), Number(input.min)), Number(input.max)));
    if (high - low >= 100) setRange([low, high]);
  };

  const enliven = async (figure) => {
    const key = figure.dataset.chart;
    const plot = document.createElement("div");
    plot.className = "plot";
    plot.setAttribute("aria-hidden", "true"); // the picture with its text alternative stays for those who listen
    const pictures = figure.querySelector(".pictures");
    const chart = { key, figure, plot };
    pictures.after(plot);
    await draw(chart);
    charts.set(key, chart);
    figure.classList.add("is-live");
    plot.on("plotly_relayout", (change) => {
      const low = change["xaxis.range[0]"], high = change["xaxis.range[1]"];
      if (low !== undefined) setRange([low, high]);
      else if (change["xaxis.autorange"] || change["xaxis.range"]) setRange(null);
    });
    plot.on("plotly_doubleclick", () => { setRange(null); return false; });
  };

  const start = () => {
    data = JSON.parse(document.getElementById("chart-data").textContent);
    const library = document.createElement("script");
    library.textContent = document.getElementById("chart-library").textContent;
    document.head.append(library);
    if (typeof Plotly === "undefined") return; // the pictures stay
    root.classList.add("live");
    form.querySelector(".reset").disabled = true;
    form.addEventListener("change", typed);
    form.addEventListener("submit", (event) => { event.preventDefault(); typed(); });
    form.addEventListener("reset", (event) => { event.preventDefault(); setRange(null); });
    toggles.forEach((box) => box.addEventListener("change", drawAll));
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", drawAll);
    const watcher = new IntersectionObserver((entries) => {
      entries.filter((entry) => entry.isIntersecting).forEach((entry) => {
        watcher.unobserve(entry.target);
        enliven(entry.target);
      });
    }, { rootMargin: "600px" });
    document.querySelectorAll("figure[data-chart]").forEach((figure) => {
      if (figure.dataset.chart in data) watcher.observe(figure);
    });
    let width = innerWidth;
    addEventListener("resize", () => { if (innerWidth !== width) { width = innerWidth; drawAll(); } });
  };

  units.forEach((input) => input.addEventListener("change", () => {
    store.set("pullbook.units", input.value);
    drawAll();
  }));

  // ---- where the reader is, in the list of contents ---------------------------------------------------------------
  const links = [...document.querySelectorAll(".contents a")];
  const here = new IntersectionObserver((entries) => {
    entries.filter((entry) => entry.isIntersecting).forEach((entry) => {
      links.forEach((link) => {
        if (link.hash === `#${entry.target.id}`) link.setAttribute("aria-current", "true");
        else link.removeAttribute("aria-current");
      });
    });
  }, { rootMargin: "-20% 0px -70% 0px" });
  document.querySelectorAll("main > section").forEach((section) => here.observe(section));

  // Closed details would be missing on paper. The recipes stay on the screen: of each pull, paper shows file, rows and hash.
  addEventListener("beforeprint", () => document.querySelectorAll(".all-pulls").forEach((one) => { one.open = true; }));

  // Two frames after loading, the pictures are on the screen.
  addEventListener("load", () => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(start, 0))));
})();
