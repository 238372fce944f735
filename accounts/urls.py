from django.urls import path

from accounts import views

app_name = "accounts"

urlpatterns = [
    path("firm/", views.firm, name="firm"),
    path("firm/new/", views.firm_found, name="firm-found"),
    path("firm/settings/", views.firm_settings, name="firm-settings"),
    path("firm/switch/", views.firm_switch, name="firm-switch"),
    path("firm/invite/", views.member_invite, name="member-invite"),
    path("members/<uuid:pk>/role/", views.member_role, name="member-role"),
    path("members/<uuid:pk>/remove/", views.member_remove, name="member-remove"),
    path("owners/new/", views.owner_create, name="owner-create"),
    path("owners/<uuid:pk>/", views.owner_detail, name="owner-detail"),
    path("owners/<uuid:pk>/edit/", views.owner_edit, name="owner-edit"),
    path("owners/<uuid:pk>/invite/", views.owner_invite, name="owner-invite"),
    path("owners/people/<uuid:pk>/remove/", views.owner_person_remove, name="owner-person-remove"),
    path("invitations/<uuid:pk>/revoke/", views.invitation_revoke, name="invitation-revoke"),
    path("join/<slug:token>/", views.invitation_accept, name="invitation-accept"),
    path("me/", views.me, name="me"),
]
