from django.urls import path

from reporting.views import crew_days, documents, kept, links, pages, sendings, shared, sources

app_name = "reporting"

urlpatterns = [
    path("", pages.start, name="start"),
    path("surfaces/<uuid:pk>/", pages.surface_detail, name="surface-detail"),
    path("surfaces/<uuid:pk>/handover/", documents.handover_show, name="handover-show"),
    path("surfaces/<uuid:pk>/handover.pdf", documents.handover_download, name="handover-download"),
    path("rounds/<uuid:pk>/certificate.pdf", documents.certificate_download, name="certificate-download"),
    path("quotes/<uuid:pk>/quote.pdf", documents.quote_download, name="quote-download"),
    path("visits/<uuid:pk>/day.pdf", crew_days.visit_paper, name="visit-paper"),
    path("sites/<uuid:pk>/", pages.site_detail, name="site-detail"),
    path("sites/<uuid:pk>/report/", documents.report_site, name="report-site"),
    path("sites/<uuid:pk>/report.pdf", documents.report_download, name="report-download"),
    path("sites/<uuid:pk>/report/keep/", kept.report_keep, name="report-keep"),
    path("surfaces/<uuid:pk>/handover/keep/", kept.handover_keep, name="handover-keep"),
    path("kept/<uuid:pk>/", kept.kept_show, name="kept-show"),
    path("kept/<uuid:pk>.pdf", kept.kept_download, name="kept-download"),
    path("kept/<uuid:pk>/withdraw/", kept.kept_void, name="kept-void"),
    path("kept/<uuid:pk>/link/", links.link_create, name="link-create"),
    path("kept/<uuid:pk>/send/", sendings.kept_send, name="kept-send"),
    path("links/", links.link_list, name="link-list"),
    path("links/for-an-inspector/", links.inspector_create, name="inspector-create"),
    path("links/<uuid:pk>/", links.link_detail, name="link-detail"),
    path("links/<uuid:pk>/address/", links.link_address, name="link-address"),
    path("links/<uuid:pk>/revoke/", links.link_revoke, name="link-revoke"),
    path("sites/<uuid:pk>/report/send/", sendings.report_send, name="report-send"),
    path("sendings/", sendings.sending_list, name="sending-list"),
    path("sendings/<uuid:pk>/again/", sendings.sending_again, name="sending-again"),
    path("reports/due/<uuid:pk>/", sendings.due_report, name="report-due"),
    path("reports/due/<uuid:pk>/skip/", sendings.due_skip, name="report-due-skip"),
    path("reports/by-themselves/<uuid:pk>/end/", sendings.routine_end, name="report-routine-end"),
    path("shared/<slug:secret>/", shared.shared_show, name="shared-show"),
    path("shared/<slug:secret>/document.pdf", shared.shared_paper, name="shared-paper"),
    path("shared/<slug:secret>/certificate.pdf", shared.shared_certificate, name="shared-certificate"),
    path("shared/<slug:secret>/tests-and-works.csv", shared.shared_rows, name="shared-rows"),
    path("sources/", sources.source_list, name="reference-list"),
    path("sources/<uuid:key>/verify/", sources.source_verify, name="reference-verify"),
    path("sources/verified/<uuid:pk>/take-back/", sources.source_withdraw, name="reference-withdraw"),
    path("reports/", documents.report_list, name="report-list"),
]
