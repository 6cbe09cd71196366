// Zooming of evidence charts. The page is complete without it: the static drawing stays and is what prints.
(function () {
  "use strict";
  var DAY = 864e5, SHORTEST = 7 * DAY;
  var MONTHS = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split(" ");

  function day(moment) {
    var date = new Date(moment);
    return date.getUTCDate() + " " + MONTHS[date.getUTCMonth()] + " " + date.getUTCFullYear();
  }

  function rows(start, columns) {
    return columns.day.map(function (passed, n) {
      var row = { day: Date.parse(start) + passed * DAY };
      ["observed", "expected", "low", "high"].forEach(function (name) { row[name] = columns[name][n]; });
      return row;
    });
  }

  function button(text, label, act) {
    var made = document.createElement("button");
    made.type = "button";
    made.textContent = text;
    made.setAttribute("aria-label", label);
    made.addEventListener("click", act);
    return made;
  }

  function open(figure, data, done) {
    var days = rows(data.start, data.columns), first = days[0].day, last = days[days.length - 1].day;
    var spec = data.spec, from = first, to = last, view = null;
    spec.datasets.days = days;
    // each dot is a line that breaks at once, as in the static drawing
    spec.datasets.dots = days.flatMap(function (row) { return [row, { day: row.day, observed: null }]; });
    spec.params.forEach(function (param) { param.value = param.name === "from" ? first : last; });

    var chart = document.createElement("div"), bar = document.createElement("div");
    var said = document.createElement("output");
    chart.className = "zoomed";
    chart.tabIndex = 0;
    chart.setAttribute("role", "group");
    chart.setAttribute("aria-label", figure.querySelector(".drawing").getAttribute("aria-label") +
      " Plus and minus zoom, left and right arrows move, 0 shows all, Escape closes.");
    bar.className = "zoombar";
    said.setAttribute("role", "status");

    function show(start, end) {
      var span = Math.min(Math.max(end - start, Math.min(SHORTEST, last - first)), last - first);
      var middle = (start + end) / 2;
      from = Math.min(Math.max(middle - span / 2, first), last - span);
      to = from + span;
      view.signal("from", from).signal("to", to).runAsync();
      said.textContent = day(from) + " to " + day(to);
    }
    function scale(by, at) {
      var middle = at === undefined ? (from + to) / 2 : at;
      show(middle - (middle - from) * by, middle + (to - middle) * by);
    }
    function move(share) { show(from + share * (to - from), to + share * (to - from)); }
    function perPixel() {
      var svg = chart.querySelector("svg");
      return (to - from) * svg.viewBox.baseVal.width / (view.width() * svg.clientWidth);
    }
    function close() {
      view.finalize();
      chart.remove();
      bar.remove();
      figure.classList.remove("open");
      done();
    }
    var closer = function () { scale(0.5); }, wider = function () { scale(2); };
    var all = function () { show(first, last); };
    var earlier = function () { move(-0.25); }, later = function () { move(0.25); };
    var keys = { "+": closer, "=": closer, "-": wider, "0": all, ArrowLeft: earlier, ArrowRight: later, Escape: close };

    bar.append(button("+", "Zoom in", closer), button("\u2212", "Zoom out", wider), button("\u2190", "Earlier", earlier),
      button("\u2192", "Later", later), button("All", "Show all days", all), button("Close", "Close the zoom", close), said);
    figure.classList.add("open");
    figure.append(chart, bar);
    vegaEmbed(chart, spec, { mode: "vega-lite", ast: true, actions: false, defaultStyle: false, tooltip: false, renderer: "svg" })
      .then(function (embedded) {
        view = embedded.view;
        show(first, last);
        chart.addEventListener("keydown", function (event) {
          if (keys[event.key] && !event.ctrlKey && !event.metaKey && !event.altKey) {
            event.preventDefault();
            keys[event.key]();
          }
        });
        chart.addEventListener("wheel", function (event) {
          if (document.activeElement !== chart) { return; }  // the page's own scrolling comes first
          event.preventDefault();
          var box = chart.querySelector("svg").getBoundingClientRect();
          var right = box.right - event.clientX;
          scale(event.deltaY < 0 ? 0.8 : 1.25, Math.max(from, to - right * perPixel()));
        }, { passive: false });
        var held = null;
        chart.addEventListener("pointerdown", function (event) {
          held = event.clientX;
          chart.setPointerCapture(event.pointerId);
        });
        chart.addEventListener("pointermove", function (event) {
          if (held === null) { return; }
          var by = (held - event.clientX) * perPixel();
          held = event.clientX;
          show(from + by, to + by);
        });
        ["pointerup", "pointercancel"].forEach(function (name) {
          chart.addEventListener(name, function () { held = null; });
        });
        chart.focus({ preventScroll: true });
      });
  }

  document.querySelectorAll("script.zoom").forEach(function (holder) {
    var figure = holder.closest("figure");
    var opener = button("Zoom", "Zoom " + figure.querySelector("figcaption").textContent, function () {
      opener.hidden = true;
      open(figure, JSON.parse(holder.textContent), function () {
        opener.hidden = false;
        opener.focus();
      });
    });
    opener.className = "opener";
    figure.append(opener);
  });
})();
