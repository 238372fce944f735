from django.urls import path

from api.views import docs, tokens
from api.views.routes import api

app_name = "api"

urlpatterns = [
    path("tokens/", tokens.token_list, name="token-list"),
    path("tokens/new/", tokens.token_create, name="token-create"),
    path("tokens/<uuid:pk>/end/", tokens.token_end, name="token-end"),
    path("api/docs/", docs.docs, name="docs"),
    path("api/openapi.json", docs.schema, name="schema"),
]
# The first address of the library leads to its own pages, which there are not.
urlpatterns += [
    path(f"api/{one.pattern}", one.callback, name=one.name) for one in api.urls[0] if one.name != "api-root"
]
