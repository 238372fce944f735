from django.urls import path

from accounts.views import notices, people

app_name = "accounts"

urlpatterns = [
    path("firm/", people.firm, name="firm"),
    path("firm/new/", people.firm_found, name="firm-found"),
    path("firm/settings/", people.firm_settings, name="firm-settings"),
    path("firm/switch/", people.firm_switch, name="firm-switch"),
    path("firm/invite/", people.member_invite, name="member-invite"),
    path("members/<uuid:pk>/role/", people.member_role, name="member-role"),
    path("members/<uuid:pk>/remove/", people.member_remove, name="member-remove"),
    path("owners/new/", people.owner_create, name="owner-create"),
    path("owners/<uuid:pk>/", people.owner_detail, name="owner-detail"),
    path("owners/<uuid:pk>/edit/", people.owner_edit, name="owner-edit"),
    path("owners/<uuid:pk>/invite/", people.owner_invite, name="owner-invite"),
    path("owners/people/<uuid:pk>/remove/", people.owner_person_remove, name="owner-person-remove"),
    path("invitations/<uuid:pk>/revoke/", people.invitation_revoke, name="invitation-revoke"),
    path("invitations/<uuid:pk>/renew/", people.invitation_renew, name="invitation-renew"),
    path("invitations/<uuid:pk>/confirm/", people.invitation_confirm, name="invitation-confirm"),
    path("join/<slug:token>/", people.invitation_accept, name="invitation-accept"),
    path("me/", people.me, name="me"),
    path("told/", notices.notice_list, name="notice-list"),
    path("told/all-read/", notices.notice_read_all, name="notice-read-all"),
    path("told/choose/", notices.notice_choose, name="notice-choose"),
    path("told/stop/<slug:secret>/", notices.notice_stop, name="notice-stop"),
    path("told/<uuid:pk>/", notices.notice_open, name="notice-open"),
]
