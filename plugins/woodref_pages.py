"""Our pages as routes: the request is read, woodref is asked, the answer is sent."""

from datasette import hookimpl
from datasette.utils.asgi import Response

from woodref.explorer.serving import shown, views


def _view(name):
    async def view(datasette, request):
        found = shown(datasette, name, request)
        return Response(found.body, status=found.status, content_type=found.kind, headers=dict(found.headers))

    return view


@hookimpl
def register_routes():
    return [(path, _view(name)) for path, name in views()]
