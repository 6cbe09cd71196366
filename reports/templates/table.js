// Sorting and filtering of tables marked data-sortable. The page is complete without it.
(function () {
  "use strict";
  var order = new Intl.Collator(undefined, { numeric: true });

  function key(row, column) {
    return row.cells[column].getAttribute("data-key");
  }

  function sort(table, head, column) {
    var down = head.getAttribute("aria-sort") === "ascending";
    var numeric = head.hasAttribute("data-numeric");
    var rows = Array.from(table.tBodies[0].rows);
    rows.sort(function (a, b) {
      var x = key(a, column), y = key(b, column);
      var step = numeric ? Number(x) - Number(y) : order.compare(x, y);
      return down ? -step : step;
    });
    table.tHead.querySelectorAll("th").forEach(function (th) { th.removeAttribute("aria-sort"); });
    head.setAttribute("aria-sort", down ? "descending" : "ascending");
    rows.forEach(function (row) { table.tBodies[0].appendChild(row); });
  }

  document.querySelectorAll("table[data-sortable]").forEach(function (table) {
    Array.from(table.tHead.rows[0].cells).forEach(function (head, column) {
      var button = document.createElement("button");
      button.type = "button";
      button.textContent = head.textContent;
      button.addEventListener("click", function () { sort(table, head, column); });
      head.replaceChildren(button);
    });
  });

  document.querySelectorAll(".filters").forEach(function (box) {
    var table = document.getElementById(box.getAttribute("data-for"));
    var selects = Array.from(box.querySelectorAll("select"));
    var count = box.querySelector("output");

    function apply() {
      var shown = 0, rows = Array.from(table.tBodies[0].rows);
      rows.forEach(function (row) {
        var fits = selects.every(function (select) {
          return !select.value || row.getAttribute("data-" + select.name) === select.value;
        });
        row.hidden = !fits;
        if (fits) { shown += 1; }
      });
      count.textContent = shown + " of " + rows.length + " shown";
    }

    selects.forEach(function (select) { select.addEventListener("change", apply); });
    box.hidden = false;
    apply();
  });
})();
