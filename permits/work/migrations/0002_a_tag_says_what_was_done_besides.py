from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('people', '0001_people'),
        ('work', '0001_permit_tables'),
    ]

    operations = [
        migrations.AddField(
            model_name='lock',
            name='measure_done',
            field=models.TextField(blank=True),
        ),
        migrations.AddConstraint(
            model_name='lock',
            constraint=models.CheckConstraint(condition=models.Q(('measure_done', ''), models.Q(('where', 'box'), _negated=True), _connector='OR'), name='a_measure_stands_at_a_point_not_on_the_box'),
        ),
    ]
