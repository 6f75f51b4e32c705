"use strict";
// Nothing here is needed: every page works without it. Suggestions while a name is typed.
(function () {
  var timer = null;
  document.querySelectorAll("input[data-suggest]").forEach(function (field) {
    var list = document.createElement("datalist");
    list.id = field.id + "-names";
    field.after(list);
    field.setAttribute("list", list.id);
    field.addEventListener("input", function () {
      window.clearTimeout(timer);
      var typed = field.value.trim();
      if (typed.length < 2) { return; }
      timer = window.setTimeout(function () {
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
  });
}());
