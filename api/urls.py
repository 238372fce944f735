from django.urls import include, path

from api.views import docs, tokens
from api.views.routes import api

app_name = "api"

# The first address of the library leads to its own pages, which there are not.
asked = [one for one in api.urls[0] if getattr(one, "name", "") != "api-root"]

urlpatterns = [
    path("tokens/", tokens.token_list, name="token-list"),
    path("tokens/new/", tokens.token_create, name="token-create"),
    path("tokens/<uuid:pk>/end/", tokens.token_end, name="token-end"),
    path("api/docs/", docs.docs, name="docs"),
    path("api/openapi.json", docs.schema, name="schema"),
    path("api/", include(asked)),
]
