"use strict";
// Nothing here is needed: every page works without it. The place in the menu is drawn into view on a narrow
// screen; suggestions while a name is typed, in fields that stand there from the start and in those that come
// later.
(function () {
  var here = document.querySelector(".top [aria-current]");
  if (here) {
    var strip = here.closest("nav");
    strip.scrollLeft = here.getBoundingClientRect().left - strip.getBoundingClientRect().left - 24;
  }
  var timer = null;

  function listOf(field) {
    var list = document.getElementById(field.id + "-names");
    if (!list) {
      list = document.createElement("datalist");
      list.id = field.id + "-names";
      field.after(list);
      field.setAttribute("list", list.id);
    }
    return list;
  }

  document.addEventListener("focusin", function (event) {
    if (event.target.matches("input[data-suggest]")) { listOf(event.target); }
  });
  document.addEventListener("input", function (event) {
    var field = event.target;
    if (!field.matches("input[data-suggest]")) { return; }
    window.clearTimeout(timer);
    var typed = field.value.trim();
    if (typed.length < 2) { return; }
    timer = window.setTimeout(function () {
      var list = listOf(field);
      window.fetch("/search.json?q=" + encodeURIComponent(typed)).then(function (answer) {
        return answer.ok ? answer.json() : { rows: [] };
      }).then(function (found) {
        list.replaceChildren.apply(list, (found.rows || []).slice(0, 12).map(function (row) {
          var option = document.createElement("option");
          option.value = row.name;
          option.label = row.botanical_name ? row.name + ", " + row.botanical_name : row.name;
          return option;
        }));
      }).catch(function () { list.replaceChildren(); });
    }, 150);
  });
}());
