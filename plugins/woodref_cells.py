"""Cells, menu and faults of the table pages: handed on to woodref."""

from datasette import hookimpl
from datasette.utils.asgi import Response

from woodref.explorer import cells, faults
from woodref.explorer.serving import is_ours, table_values


@hookimpl
def render_cell(row, value, column, table, database, datasette):
    if is_ours(datasette) and database == "catalogue":
        return cells.cell(row, value, column, table)
    return None


@hookimpl
def extra_template_vars(datasette):
    return table_values(datasette) if is_ours(datasette) else {}


@hookimpl(hookwrapper=True)
def handle_exception(datasette, request, exception):
    outcome = yield
    if is_ours(datasette):
        # the usual handler would print every missing page on the terminal: ours alone answers
        found = faults.answered(datasette, request.path, exception)
        outcome.force_result([Response(found.body, status=found.status, content_type=found.kind)])


@hookimpl(tryfirst=True)
def forbidden(datasette, request, message):
    if not is_ours(datasette):
        return None
    found = faults.forbidden(datasette, request.path, message)
    return Response(found.body, status=found.status, content_type=found.kind)
