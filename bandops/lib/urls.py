"""Addresses."""

from django.urls import path

from bandops.lib.accounts import views as accounts
from bandops.lib.audit import views as audit
from bandops.lib.finding import views as finding
from bandops.lib.imports import views as imports
from bandops.lib.web import offline

urlpatterns = [
    path("sign-in/", accounts.sign_in, name="sign-in"),
    path("link/<slug:scope>/<str:token>/", accounts.use_link, name="link"),
    path("sign-out/", accounts.sign_out, name="sign-out"),
    path("imports/", imports.imports, name="imports"),
    path("imports/columns/", imports.columns, name="import-columns"),
    path("imports/words/", imports.words, name="import-words"),
    path("imports/review/<int:pk>/", imports.review, name="import-review"),
    path("imports/review/<int:pk>/sheets/", imports.sheets, name="import-sheets"),
    path("imports/review/<int:pk>/rest/", imports.rest, name="import-rest"),
    path("imports/batches/<int:pk>/undo/", imports.undo, name="import-undo"),
    path("imports/<slug:kind_key>/", imports.upload, name="import-upload"),
    path("exports/<slug:name>.<str:form>", imports.export, name="export"),
    path("history/", audit.history, name="history"),
    path("history/looks/", audit.looks, name="looks"),
    path("history/take-back/", audit.take_back, name="take-back"),
    path("worker.js", offline.worker, name="worker"),
    path("offline/", offline.nothing_kept, name="offline"),
    path("search/", finding.search, name="search"),
]
