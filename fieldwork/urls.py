from django.urls import path

from fieldwork.views import contacts, entries, phone, phones

app_name = "fieldwork"

urlpatterns = [
    path("field-worker.js", phone.worker, name="field-worker"),
    path("field/phone/", phone.phone_show, name="phone-show"),
    path("field/pages/", phone.page_list, name="page-list"),
    path("field/surfaces/<uuid:pk>/tests/new/", phone.blank_test, name="blank-test"),
    path("field/entries/<uuid:entry>/", entries.field_entry, name="field-entry"),
    path("field/contact/", contacts.field_contact, name="field-contact"),
    path("field/who/", entries.field_who, name="field-who"),
    path("field/phones/", phones.phone_list, name="phone-list"),
    path("field/phones/take-in/", phones.phone_take_in, name="phone-take-in"),
    path("field/phones/entries/<uuid:pk>/dealt-with/", phones.phone_settle, name="phone-settle"),
]
